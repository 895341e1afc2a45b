"""What is said in the pause before the drugs, piece by piece, in one breath."""

from typing import Annotated

from assistant.files.templates import Template, with_all
from assistant.files.word_forms import Spoken
from assistant.files.yaml_files import SiteModel

Plain = Spoken


class PauseSays(SiteModel):
    """A piece about which nothing is known is left out, except for the weight and what is open."""

    opening: Plain = "Pause."
    weight: Annotated[Template, with_all("weight")] = "{weight}."
    no_weight: Plain = "No weight."
    dose: Annotated[Template, with_all("drug", "dose")] = "{drug} {dose}."
    """For each drug whose dose was asked for this patient's weight."""
    features: Annotated[Template, with_all("features")] = "{features}."
    """What is special about this patient."""
    pressure: Annotated[Template, with_all("pressure")] = "Pressure {pressure}."
    """The systolic pressure, where it was told."""
    saturation: Annotated[Template, with_all("percent")] = "Saturation {percent}."
    low_pressure: Plain = "Blood pressure low."
    allergies: Annotated[Template, with_all("allergens")] = "Allergic to {allergens}."
    who: Annotated[Template, with_all("task", "who")] = "{task} {who}."
    open: Annotated[Template, with_all("count", "items")] = "{count} open: {items}."
    """Vital ones first."""
    nothing_open: Plain = "Nothing open."
    ask: Plain = "Clear to give the drugs?"
    ask_to_begin: Plain = "Clear to begin?"
    """Where the patient is to breathe on until the tube is in."""
    how: Annotated[Template, with_all("yes", "no")] = "Please say: {yes}. Or: {no}."
    """A plain yes is not clear enough here."""
