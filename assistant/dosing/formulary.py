"""A site's formulary as data: its drugs, what each is for, how much, how strong, and who says so.

Every figure is an exact decimal. A figure outside the published range that stands beside it is
refused unless the site states its reason.
"""

from collections.abc import Iterator
from decimal import Decimal
from enum import Enum
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator, model_validator

from assistant.dosing.units import Concentration, Mass, MassUnit, plain
from assistant.dosing.weights import WeightKind
from assistant.errors import BadInput
from assistant.site.reading import SiteModel, line_in, read_yaml
from assistant.site.words import Identifier, Spoken, Utterance

Amount = Annotated[Decimal, Field(gt=0)]
Respelling = Annotated[str, Field(pattern=r"^[a-z][a-z' -]*$")]
"""What a speech model writes for a name it does not know: "rock uronium"."""

COARSEST_ROUNDING = Decimal("0.1")
"""Rounding to the graduation may change no dose by more than this share of it.

This project's own limit, no source: a smallest syringe or a weaker strength is then needed.
"""


class Status(Enum):
    """How far a figure was traced."""

    READ = "read"
    """Read in the publication or a copy of it."""
    QUOTED = "quoted"
    """Read in a page that quotes the publication."""
    MEMORY = "memory"
    """Not looked up: to be checked before it is relied upon."""
    LOCAL = "local"
    """The site's own decision; there is nothing to look up."""


class Sourced(SiteModel):
    """What every figure comes with."""

    source: Spoken
    status: Status


class Published(Sourced):
    """The range that a label or guideline gives, in the unit of the dose beside it."""

    low: Amount
    high: Amount

    @field_validator("high")
    @classmethod
    def _high_above_low(cls, high: Decimal, info: ValidationInfo) -> Decimal:
        if high < info.data.get("low", high):
            raise ValueError(f"a high not below its low of {plain(info.data['low'])}")
        return high

    def holds(self, amount: Decimal) -> bool:
        """Whether the amount lies within."""
        return self.low <= amount <= self.high


class Maximum(Sourced):
    """The most that is given at once, in the unit of mass of the dose beside it."""

    amount: Amount


class Strength(Sourced):
    """What one millilitre of the site's preparation holds, as its label says."""

    amount_per_ml: Amount
    unit: MassUnit

    @property
    def concentration(self) -> Concentration:
        """For the arithmetic."""
        return Concentration(Mass(self.amount_per_ml, self.unit))


class Dose(SiteModel):
    """The site's low, usual and high dose; the published range comes first, as they need it."""

    unit: MassUnit
    published: Published
    reason: Spoken | None = None
    """Why the site leaves the published range, where it does."""
    low: Amount
    usual: Amount
    high: Amount
    maximum: Maximum

    @field_validator("low", "usual", "high")
    @classmethod
    def _published_or_reasoned(cls, amount: Decimal, info: ValidationInfo) -> Decimal:
        published, reason = info.data.get("published"), info.data.get("reason")
        if isinstance(published, Published) and reason is None and not published.holds(amount):
            raise ValueError(
                f"{plain(published.low)} to {plain(published.high)} as published in "
                f"{published.source}, or a reason stated beside it"
            )
        below = {"usual": "low", "high": "usual"}.get(info.field_name or "")
        if below and amount < info.data.get(below, amount):
            raise ValueError(f"not less than the {below} dose, {plain(info.data[below])}")
        return amount


class DosePerKilogram(Dose):
    """A dose that goes by a weight; its maximum is not per kilogram."""

    kind: Literal["per-kilogram"]
    goes_by: WeightKind = WeightKind.TOTAL


class FixedDose(Dose):
    """The same dose for every adult."""

    kind: Literal["fixed"]

    @field_validator("maximum")
    @classmethod
    def _high_within_maximum(cls, maximum: Maximum, info: ValidationInfo) -> Maximum:
        if maximum.amount < info.data.get("high", maximum.amount):
            raise ValueError(f"a maximum not below the high dose, {plain(info.data['high'])}")
        return maximum


class Indication(SiteModel):
    """One use of a drug."""

    id: Identifier
    purpose: Annotated[str, Field(pattern=r"^[a-z].+$")]
    """As it follows the drug's name in a sentence: "for paralysis"."""
    route: Spoken
    dose: Annotated[DosePerKilogram | FixedDose, Field(discriminator="kind")]


class Drug(SiteModel):
    """One drug at one strength, by its generic name."""

    id: Identifier
    called: Utterance
    """As the assistant says it."""
    said: tuple[Utterance, ...] = ()
    """Other names under which people ask for it."""
    respellings: tuple[Respelling, ...] = ()
    strength: Strength
    graduation_ml: Amount
    """The finest mark of the syringe it is drawn up in; volumes are rounded to it."""
    indications: Annotated[tuple[Indication, ...], Field(min_length=1)]
    """The first is meant when none is named."""
    cautions: tuple[Spoken, ...] = ()

    @model_validator(mode="after")
    def _every_indication_once(self) -> "Drug":
        ids = [indication.id for indication in self.indications]
        if len(set(ids)) < len(ids):
            raise ValueError("each indication's id once within a drug")
        return self

    def names(self) -> tuple[str, ...]:
        """All that it is called, by the assistant and by people."""
        return (self.called, *self.said)

    def indication(self, indication_id: str | None = None) -> Indication:
        """One use, or the first. Raises KeyError for an id that it has not."""
        if indication_id is None:
            return self.indications[0]
        return {one.id: one for one in self.indications}[indication_id]


class Span(SiteModel):
    """From low to high, both included."""

    low: Annotated[int, Field(ge=1)]
    high: Annotated[int, Field(le=300)]

    @field_validator("high")
    @classmethod
    def _high_above_low(cls, high: int, info: ValidationInfo) -> int:
        if high <= info.data.get("low", high - 1):
            raise ValueError(f"a whole number above its low of {info.data['low']}")
        return high

    def holds(self, figure: Decimal) -> bool:
        """Whether the figure lies within."""
        return self.low <= figure <= self.high


class Adults(SiteModel):
    """For whom the formulary is meant; nobody else gets a dose."""

    weight_kg: Span = Span(low=30, high=200)
    height_cm: Span = Span(low=130, high=230)
    obese_from_bmi: Amount = Decimal(30)
    """Body mass index, kg/m2, from which ideal, lean and adjusted weight replace total weight.

    The guideline that asks for them (AAGBI/SOBA, Anaesthesia 2015;70:859-76) is for obese adults:
    the lean weight of a slim person is below the ideal one, and would give too little. Obesity
    from 30 kg/m2 is the World Health Organization's (from memory).
    """


class Formulary(SiteModel):
    """All the drugs of a site."""

    name: Spoken
    adults: Adults = Adults()
    drugs: Annotated[tuple[Drug, ...], Field(min_length=1)]

    def drug(self, drug_id: str) -> Drug:
        """By its id. Raises KeyError."""
        return {drug.id: drug for drug in self.drugs}[drug_id]


def read_formulary(path: Path) -> Formulary:
    """Read a site's formulary and check its drugs against one another.

    Raises BadInput, with one sentence, at the first thing that is wrong with it.
    """
    formulary = read_yaml(path, Formulary)
    for loc, found, allowed in _faults(formulary):
        raise BadInput.in_file(
            path,
            line=line_in(path, *loc),
            key=".".join(str(step) for step in loc),
            found=found,
            allowed=allowed,
        )
    return formulary


Fault = tuple[tuple[int | str, ...], str, str]
"""Where, what was found there, what is allowed."""


def _faults(formulary: Formulary) -> Iterator[Fault]:
    ids: set[str] = set()
    owners: dict[str, str] = {}
    for at, drug in enumerate(formulary.drugs):
        if drug.id in ids:
            yield ("drugs", at, "id"), repr(drug.id), "each drug's id once"
        ids.add(drug.id)
        named = {"called": (drug.called,), "said": drug.said, "respellings": drug.respellings}
        for key, names in named.items():
            for name in names:
                if owners.setdefault(name, drug.id) != drug.id:
                    other = f"each name for one drug only, and {owners[name]} has it already"
                    yield ("drugs", at, key), repr(name), other
        yield from _too_coarse(at, drug, formulary.adults)


def _too_coarse(at: int, drug: Drug, adults: Adults) -> Iterator[Fault]:
    """A graduation that would change the smallest dose by more than the coarsest rounding."""
    for indication in drug.indications:
        dose = indication.dose
        kilograms = adults.weight_kg.low if isinstance(dose, DosePerKilogram) else 1
        smallest = Mass(dose.low * kilograms, dose.unit)
        smallest_ml = drug.strength.concentration.volume_ml(smallest)
        coarsest_ml = 2 * COARSEST_ROUNDING * smallest_ml
        if drug.graduation_ml > coarsest_ml:
            needed = (
                f"at most {plain(coarsest_ml)} mL, as the smallest dose "
                f"{indication.purpose} is {smallest.written()}"
            )
            yield ("drugs", at, "graduation_ml"), f"{plain(drug.graduation_ml)} mL", needed
