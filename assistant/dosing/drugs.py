"""One drug of a formulary: what it is for, how much is given, and the sources.

Every figure is an exact decimal. A figure outside the published range that stands beside it is
refused unless the site states its reason.
"""

from decimal import Decimal
from enum import Enum
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator, model_validator

from assistant.dosing.preparations import Preparation, Supplied
from assistant.dosing.sourced import (
    Amount,
    Between,
    Maximum,
    Published,
    Sourced,
    published_or_reasoned,
)
from assistant.dosing.units import plain
from assistant.dosing.weights import WeightKind
from assistant.files.word_forms import Continuing, Identifier, Respelling, Spoken, Utterance
from assistant.files.yaml_files import SiteModel

DoseUnit = Literal[
    "mg",
    "mcg",
    "mg/kg",
    "mcg/kg",
    "mg/h",
    "mcg/h",
    "mg/min",
    "mcg/min",
    "mg/kg/h",
    "mcg/kg/h",
    "mg/kg/min",
    "mcg/kg/min",
]


class Use(Enum):
    """What a drug is given for in this room."""

    INDUCTION = "induction"
    PARALYSIS = "paralysis"
    ANALGESIA = "analgesia"
    SEDATION = "sedation"
    PRESSOR = "pressor"
    REVERSAL = "reversal"
    PRETREATMENT = "pretreatment"
    HEART_RATE = "heart-rate"


class Dose(SiteModel):
    """The site's low, usual and high dose; the published range comes first, as they need it."""

    unit: DoseUnit
    """With `/kg` it goes by a weight, with `/h` or `/min` it is an infusion."""
    published: Published
    reason: Spoken | None = None
    """Why the site leaves the published range, where it does; said once at the start of a case."""
    low: Amount
    usual: Amount
    high: Amount

    @field_validator("low", "usual", "high")
    @classmethod
    def _published_or_reasoned(cls, amount: Decimal, info: ValidationInfo) -> Decimal:
        published_or_reasoned(amount, info)
        below = {"usual": "low", "high": "usual"}.get(info.field_name or "")
        if below and amount < info.data.get(below, amount):
            raise ValueError(f"not less than the {below} dose, {plain(info.data[below])}")
        return amount

    @property
    def per_kilogram(self) -> bool:
        """Whether it goes by a weight."""
        return "/kg" in self.unit

    @property
    def infusion(self) -> bool:
        """Whether it is a rate, and not given at once."""
        return self.unit.endswith(("/h", "/min"))

    @property
    def given_unit(self) -> str:
        """The unit of what is given: without the weight."""
        return self.unit.replace("/kg", "")


class Acts(Sourced):
    """How soon a drug acts, and for how long."""

    onset_s: Between
    lasts_min: Between


class AskBefore(SiteModel):
    """What must be excluded before the dose is spoken."""

    id: Identifier
    ask: Spoken
    """A question that a yes answers with "it is excluded"."""
    otherwise: Spoken
    """Said instead of a dose when it is not."""
    source: Spoken


class Indication(SiteModel):
    """One use of a drug."""

    id: Identifier
    use: Use
    purpose: Continuing
    """As it follows the drug's name in a sentence: "for paralysis"."""
    route: Spoken
    said: tuple[Utterance, ...] = ()
    """Names under which people ask for this use: "propofol infusion"."""
    respellings: tuple[Respelling, ...] = ()
    preparation: Identifier | None = None
    """Of the drug's; the first when left out."""
    goes_by: WeightKind = WeightKind.TOTAL
    dose: Dose
    when_pressure_is_low: Dose | None = None
    """A separate dose for the hypotensive patient, in the same unit."""
    never_when_pressure_is_low: Spoken | None = None
    """Why such a patient gets none."""
    maximum: Maximum
    acts: Acts
    ask_before: tuple[AskBefore, ...] = ()

    @model_validator(mode="after")
    def _doses_agree(self) -> "Indication":
        other = self.when_pressure_is_low
        if other is not None and other.unit != self.dose.unit:
            raise ValueError(f"both doses in one unit, {self.dose.unit}")
        if not self.dose.per_kilogram and self.maximum.amount < self.dose.high:
            raise ValueError(f"a maximum not below the high dose, {plain(self.dose.high)}")
        return self


class Drug(SiteModel):
    """One drug, by its generic name."""

    id: Identifier
    called: Utterance
    """As the assistant says it."""
    said: tuple[Utterance, ...] = ()
    """Other names under which people ask for it."""
    respellings: tuple[Respelling, ...] = ()
    allergens: tuple[Identifier, ...] = ()
    """Of the formulary's; an allergy on record is named when the drug is asked for."""
    sounds_like: tuple[Identifier, ...] = ()
    """Drugs of this formulary whose names are taken for its own: it is read back before a dose."""
    supplied: Supplied
    preparations: Annotated[tuple[Preparation, ...], Field(min_length=1)]
    indications: Annotated[tuple[Indication, ...], Field(min_length=1)]
    """The first is meant when none is named."""
    cautions: tuple[Spoken, ...] = ()

    @model_validator(mode="after")
    def _everything_once(self) -> "Drug":
        for parts, name in ((self.indications, "indication"), (self.preparations, "preparation")):
            ids = [part.id for part in parts]
            if len(set(ids)) < len(ids):
                raise ValueError(f"each {name}'s id once within a drug")
        known = {preparation.id for preparation in self.preparations}
        for indication in self.indications:
            if indication.preparation is not None and indication.preparation not in known:
                raise ValueError(f"a preparation of this drug, not {indication.preparation!r}")
            pump = self.preparation(indication).pump_step_ml_per_h is not None
            if pump != indication.dose.infusion:
                raise ValueError(f"a pump for an infusion and a syringe otherwise: {indication.id}")
        return self

    def names(self) -> tuple[str, ...]:
        """All that it is called, by the assistant and by people."""
        return (self.called, *self.said)

    def indication(self, indication_id: str | None = None) -> Indication:
        """One use, or the first. Raises KeyError for an unknown id."""
        if indication_id is None:
            return self.indications[0]
        return {one.id: one for one in self.indications}[indication_id]

    def preparation(self, indication: Indication) -> Preparation:
        """What is given for that use."""
        if indication.preparation is None:
            return self.preparations[0]
        return {one.id: one for one in self.preparations}[indication.preparation]
