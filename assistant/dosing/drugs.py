"""One drug of a formulary: what it is for, how much is given, and the sources.

Every figure is an exact decimal. A figure outside the published range that stands beside it is
refused unless the site states its reason.
"""

from enum import Enum
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator, model_validator

from assistant.dosing.preparations import Preparation, Supplied
from assistant.dosing.sourced import (
    Limit,
    Maximum,
    Published,
    Source,
    Sourced,
    published_or_reasoned,
)
from assistant.dosing.stated import DoseFigure, Figure, LastsRange, OnsetRange
from assistant.dosing.weights import WeightKind
from assistant.files.complaints import WrongWithinError
from assistant.files.word_forms import (
    Continuing,
    Identifier,
    Respelling,
    Sentence,
    Spoken,
    Utterance,
)
from assistant.files.yaml_files import SiteModel


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


class Route(Enum):
    """How a drug is given. One of this list, so that another way of writing is no other route."""

    INTRAVENOUS = "intravenous"
    INTRAOSSEOUS = "intraosseous"
    INTRAMUSCULAR = "intramuscular"
    INTRANASAL = "intranasal"


class Dose(SiteModel):
    """The site's low, usual and high dose; the published range comes first, as they need it.

    Each figure states its unit, and per kilogram the weight that it goes by: all by the same. A
    unit with `/h` or `/min` makes it an infusion.
    """

    published: Published
    reason: Spoken | None = None
    """Why the site leaves the published range, where it does; said with the dose."""
    low: DoseFigure
    usual: DoseFigure
    high: DoseFigure

    @field_validator("low", "usual", "high")
    @classmethod
    def _published_or_reasoned(cls, figure: Figure, info: ValidationInfo) -> Figure:
        published_or_reasoned(figure, info)
        name = {"usual": "low", "high": "usual"}.get(info.field_name or "")
        below = info.data.get(name, figure) if name else figure
        if below.is_like(figure) and figure.quantity < below.quantity:
            raise ValueError(f"not less than the {name} dose, {below}")
        return figure

    @property
    def figures(self) -> tuple[Figure, Figure, Figure]:
        """Low, usual and high."""
        return self.low, self.usual, self.high

    @property
    def goes_by(self) -> WeightKind | None:
        """The weight that it goes by; None for a fixed dose."""
        return self.usual.weight

    @property
    def per_kilogram(self) -> bool:
        """Whether it goes by a weight."""
        return self.goes_by is not None

    @property
    def infusion(self) -> bool:
        """Whether it is a rate, and not given at once."""
        return self.usual.unit.endswith(("/h", "/min"))

    @property
    def given_unit(self) -> str:
        """The unit of what is given: without the weight."""
        return self.usual.unit.replace("/kg", "")


class AgeDose(Dose):
    """A separate dose for the old."""

    from_age_years: Annotated[int, Field(ge=50, le=75)]
    frail_too: bool = False
    """Whether its source also gives it for the frail or debilitated of any age."""


class Acts(Sourced):
    """How soon a drug acts, and for how long."""

    onset: OnsetRange
    lasts: LastsRange


class AskBefore(SiteModel):
    """What must be excluded before the dose is spoken."""

    id: Identifier
    ask: Spoken
    """A question that a yes answers with "it is excluded"."""
    otherwise: Spoken
    """Said instead of a dose if it is not."""
    told_by: tuple[Identifier, ...] = ()
    """Features of the brief, or `low_pressure`, `acidosis` or `obstruction`, that mean that it
    is not: for a patient with one of these it is not asked."""
    source: Source


class Indication(SiteModel):
    """One use of a drug."""

    id: Identifier
    use: Use
    purpose: Continuing
    """As it follows the drug's name in a sentence: "for paralysis"."""
    route: Route
    said: tuple[Utterance, ...] = ()
    """Names under which people ask for this use: "propofol infusion"."""
    respellings: tuple[Respelling, ...] = ()
    preparation: Identifier | None = None
    """One of the drug's; the first if left out."""
    dose: Dose
    when_pressure_is_low: Dose | None = None
    """A separate dose for the hypotensive patient, by the same weight and not above the other."""
    when_old: AgeDose | None = None
    """A separate dose from a certain age, by the same weight, between the low-pressure and the
    usual one. It is given once the age was told; until then nothing is refused."""
    never_when_pressure_is_low: Spoken | None = None
    """Why a patient with a low pressure gets none."""
    maximum: Maximum
    said_with_dose: tuple[Sentence, ...] = ()
    """What changes how it is given, said with every dose: "Over thirty seconds."."""
    acts: Acts
    ask_before: tuple[AskBefore, ...] = ()

    @field_validator("said_with_dose")
    @classmethod
    def _in_words(cls, sentences: tuple[str, ...]) -> tuple[str, ...]:
        for at, sentence in enumerate(sentences):
            if any(map(str.isdigit, sentence)):
                raise WrongWithinError("numbers in words, and no figure of the dose itself", at)
        return sentences

    @model_validator(mode="after")
    def _doses_agree(self) -> "Indication":
        self._low_agrees()
        self._old_agrees()
        dose, most, limit = self.dose, self.maximum.most, self.maximum.limit
        at = ("maximum", limit.value)
        if limit.of_a_rate != dose.infusion:
            kinds = [one.value for one in Limit if one.of_a_rate == dose.infusion]
            raise WrongWithinError(f"a {' or '.join(kinds)} in its place", *at)
        if not most.is_like(dose.high) and not most.is_like(dose.high.at(1)):
            raise WrongWithinError(f"a maximum with the unit {dose.given_unit}", *at)
        if most.is_like(dose.high) and most.quantity < dose.high.quantity:
            raise WrongWithinError(f"not below the high dose, {dose.high}", *at)
        return self

    def _low_agrees(self) -> None:
        dose, low = self.dose, self.when_pressure_is_low
        if low is None:
            return
        if not low.usual.is_like(dose.usual):
            unit = f"the unit {dose.usual.measured_in} in both doses"
            raise WrongWithinError(unit, "when_pressure_is_low", "usual")
        for name in ("low", "usual", "high"):
            most = getattr(dose, name)
            if getattr(low, name).quantity > most.quantity:
                raise WrongWithinError(
                    f"not above the other {name} dose, {most}", "when_pressure_is_low", name
                )

    def _old_agrees(self) -> None:
        old, low = self.when_old, self.when_pressure_is_low
        if old is None:
            return
        if not old.usual.is_like(self.dose.usual):
            unit = f"the unit {self.dose.usual.measured_in} in the dose for the old too"
            raise WrongWithinError(unit, "when_old", "usual")
        least = old.usual if low is None else low.usual
        if not least.quantity <= old.usual.quantity <= self.dose.usual.quantity:
            between = f"a usual dose for the old from {least} to {self.dose.usual}"
            raise WrongWithinError(between, "when_old", "usual")
        if old.high.quantity > self.dose.high.quantity:
            most = f"a high dose for the old of at most {self.dose.high}"
            raise WrongWithinError(most, "when_old", "high")


class Drug(SiteModel):
    """One drug, by its generic name."""

    id: Identifier
    """As in the program's own reference; any other only with two roles under `confirmed`."""
    called: Utterance
    """As the assistant says it."""
    said: tuple[Utterance, ...] = ()
    """Other names under which people ask for it."""
    respellings: tuple[Respelling, ...] = ()
    allergens: tuple[Identifier, ...] = ()
    """Allergens of the formulary that the drug belongs to, besides the drug itself; an allergy
    on record is named when the drug is asked for."""
    sounds_like: tuple[Spoken, ...] = ()
    """What its name may be confused with, drugs of this formulary by id and absent ones by name:
    before a dose it is read back as not being those ("rocuronium, not vecuronium")."""
    supplied: Supplied
    preparations: Annotated[tuple[Preparation, ...], Field(min_length=1)]
    indications: Annotated[tuple[Indication, ...], Field(min_length=1)]
    """If none is named, the first is meant."""
    cautions: tuple[Spoken, ...] = ()

    @model_validator(mode="after")
    def _everything_once(self) -> "Drug":
        for parts, name in ((self.indications, "indications"), (self.preparations, "preparations")):
            ids = [part.id for part in parts]
            for at, one in enumerate(ids):
                if one in ids[:at]:
                    raise WrongWithinError(f"each id once among a drug's {name}", name, at, "id")
        known = [preparation.id for preparation in self.preparations]
        for at, indication in enumerate(self.indications):
            loc = ("indications", at, "preparation")
            if indication.preparation is not None and indication.preparation not in known:
                raise WrongWithinError(f"a preparation of this drug: {', '.join(known)}", *loc)
            pump = self.preparation(indication).pump_step is not None
            if pump != indication.dose.infusion:
                with_it = "pump_step" if indication.dose.infusion else "graduation"
                raise WrongWithinError(f"a preparation with its {with_it}, as the dose wants", *loc)
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
