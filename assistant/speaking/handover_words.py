"""What is said when the patient is handed over, piece by piece, in one breath."""

from typing import Annotated

from assistant.files.templates import Template, with_all
from assistant.files.word_forms import Spoken
from assistant.files.yaml_files import SiteModel

Plain = Spoken


class HandoverSays(SiteModel):
    """A piece about which nothing is known is left out, except for the airway and what is open."""

    weight: Annotated[Template, with_all("weight")] = "{weight}."
    tube: Annotated[Template, with_all("number")] = "Tube in on attempt {number}."
    supraglottic: Annotated[Template, with_all("number")] = (
        "Supraglottic airway in. Attempts: {number}."
    )
    neck: Annotated[Template, with_all("number")] = "Tube through the neck. Attempts: {number}."
    no_airway: Annotated[Template, with_all("number")] = "No tube in. Attempts: {number}."
    arrest: Annotated[Template, with_all("time")] = "Arrest for {time}."
    in_arrest: Annotated[Template, with_all("time")] = "In arrest, for {time}."
    """It is not over."""
    arrest_earlier: Plain = "Arrest before the restart."
    """Nobody knows for how long."""
    item: Annotated[Template, with_all("item", "answer")] = "{item} {answer}."
    """For each item that the brief names for it, with what was answered."""
    given: Annotated[Template, with_all("ago", "drugs")] = "{ago} ago {drugs}."
    """What went in at one time; without a name it is the term `drugs_clock`."""
    given_earlier: Annotated[Template, with_all("drugs")] = "Before the restart {drugs}."
    """What went in before the machine was started anew: nobody knows when."""
    times: Annotated[Template, with_all("drug", "count")] = "{drug}, {count} times"
    """One that went in more than once; the time is that of the last."""
    nothing_given: Plain = "No drug is in that I know of."
    dose: Annotated[Template, with_all("drug", "dose")] = "{drug} {dose}"
    saturation: Annotated[Template, with_all("percent")] = "Saturation {percent}."
    low_pressure: Plain = "Blood pressure low."
    allergies: Annotated[Template, with_all("allergens")] = "Allergic to {allergens}."
    open: Annotated[Template, with_all("count", "items")] = "{count} open, {items}."
    nothing_open: Plain = "Nothing open."
