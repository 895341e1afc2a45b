"""What is said in the pause before the drugs, piece by piece, in one breath."""

from typing import Annotated

from assistant.files.word_forms import Spoken
from assistant.files.yaml_files import SiteModel
from assistant.language.dose_terms import only

Plain = Annotated[Spoken, only()]


class PauseSays(SiteModel):
    """Each piece is left out where nothing is known of it, but for the weight and what is open."""

    opening: Plain = "Pause."
    weight: Annotated[Spoken, only("weight")] = "{weight}."
    no_weight: Plain = "No weight."
    dose: Annotated[Spoken, only("drug", "dose")] = "{drug} {dose}."
    """For each drug whose dose was asked for this patient's weight."""
    saturation: Annotated[Spoken, only("percent")] = "Saturation {percent}."
    low_pressure: Plain = "Blood pressure low."
    allergies: Annotated[Spoken, only("allergens")] = "Allergic to {allergens}."
    who: Annotated[Spoken, only("task", "who")] = "{task} {who}."
    open: Annotated[Spoken, only("count", "items")] = "{count} open: {items}."
    """Vital ones first."""
    nothing_open: Plain = "Nothing open."
    ask: Plain = "Clear to give the drugs?"
    how: Annotated[Spoken, only("yes", "no")] = "Please say: {yes}. Or: {no}."
    """A plain yes is not clear enough here."""
