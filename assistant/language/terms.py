"""The small words out of which sentences are made: units, figures, persons. English by default."""

from typing import Annotated

from assistant.files.templates import Template, all_of, with_all
from assistant.files.word_forms import Spoken
from assistant.files.yaml_files import SiteModel
from assistant.language.dose_terms import DoseTerms, RoomTerms


class UnitWords(SiteModel):
    """A unit as it is spoken after one and after any other number."""

    one: Spoken
    many: Spoken


def _regular(one: str) -> UnitWords:
    return UnitWords(one=one, many=f"{one}s")


class Units(SiteModel):
    """The units that are spoken."""

    bar: UnitWords = UnitWords(one="bar", many="bar")
    centimetre: UnitWords = _regular("centimetre")
    hour: UnitWords = _regular("hour")
    kilogram: UnitWords = _regular("kilogram")
    litre: UnitWords = _regular("litre")
    microgram: UnitWords = _regular("microgram")
    milligram: UnitWords = _regular("milligram")
    millilitre: UnitWords = _regular("millilitre")
    minute: UnitWords = _regular("minute")
    pound: UnitWords = _regular("pound")
    second: UnitWords = _regular("second")
    year: UnitWords = _regular("year")

    def named(self, unit: str) -> UnitWords:
        """By the name of its field."""
        words: UnitWords = getattr(self, unit)
        return words


class Terms(SiteModel):
    """The small words out of which the assistant makes sentences; English when left out."""

    units: Units = Units()
    quantity: Annotated[Template, all_of("number", "unit")] = "{number} {unit}"
    per: Annotated[Template, all_of("amount", "unit")] = "{amount} per {unit}"
    """"Ten milligrams per millilitre"; once more for each further unit."""
    dose: DoseTerms = DoseTerms()
    room: RoomTerms = RoomTerms()
    woman: Spoken = "a woman"
    man: Spoken = "a man"
    pressure_low: Spoken = "blood pressure low"
    pressure_recovered: Spoken = "blood pressure no longer low"
    from_to: Annotated[Template, all_of("low", "high")] = "{low} to {high}"
    """A range of numbers, as the one in which a setting is wanted."""
    allergy: Annotated[Template, all_of("allergen")] = "an allergy to {allergen}"
    weight: Spoken = "a weight"
    height: Spoken = "a height"
    age: Spoken = "an age"
    only_adults: Annotated[Template, with_all("low", "high", perhaps=("figure", "unit"))] = (
        "I only know doses for {figure} from {low} to {high} {unit}."
    )
    i_heard: Annotated[Template, all_of("number")] = "I heard {number}."
    """Said before `only_adults`, when what was heard is not an adult's figure."""
    unusual_body: Annotated[Template, with_all("other")] = "That is unusual with {other}."
    """Before a weight or height is read back that hardly fits the other one."""
    an_answer: Spoken = "an answer"
    """What the assistant waits for when it is not an item."""
    and_more: Annotated[Template, with_all("items", perhaps=("count",))] = (
        "{items}, and {count} more"
    )
    attempt_clock: Spoken = "attempt"
    drugs_clock: Spoken = "drugs in"
    arrest_clock: Spoken = "arrest"
    acidosis: Spoken = "acidosis"
    """The patient breathes hard against acid, as it is read back."""
    obstruction: Spoken = "obstructed breathing"
    """Air gets out slowly, as it is read back."""
