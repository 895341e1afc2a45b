"""What was heard and does not count yet: it was read back, or a question comes first."""

from dataclasses import dataclass
from enum import Enum
from typing import Final, Literal

from assistant.brief.states import State

Value = str | int | float | bool
Figure = Literal[
    "weight_kg",
    "height_cm",
    "age_years",
    "sex",
    "low_pressure",
    "allergies",
    "acidosis",
    "obstruction",
    "pressure_mmhg",
    "pulse_per_min",
    "feature",
    "feature_denied",
    "allergy_denied",
]
"""What may be told about the patient: the fields of `Known` that are the patient's, one of the
site's own features, and that something which was told is not so."""
DOSE_AWAITED_S: Final = 45.0
"""For so long whoever asked for a dose still waits for it, while a weight is asked for, told and
read back; from when the last was asked for or answered. Common practice, no source."""
NO_WAVE: Final = "no_wave"
"""The denial of a wave, where it was not surely heard: it is asked back as a vital word is."""
ADDING_UP: Final = ("allergies", "feature", "feature_denied", "allergy_denied")
"""Of these a patient may have several: one does not replace another."""


@dataclass(frozen=True, slots=True)
class Pending:
    """A value that was read back and is not confirmed."""

    value: str | float
    spoken: str


class Wanted(Enum):
    """What a dose question asks for."""

    DOSE = "dose"
    VOLUME = "volume"


@dataclass(frozen=True, slots=True)
class Quote:
    """A dose question that is not answered yet."""

    drug: str
    """The drug's key in the formulary, with the use if one was named: "propofol/sedation"."""
    weight_kg: int | None
    """None when no weight is known, which only a fixed dose can do without."""
    what_if: bool
    """True when the weight is not the patient's confirmed one."""
    wanted: Wanted = Wanted.DOSE
    low_pressure: bool = False
    """Asked for as the dose for a low pressure."""
    check: str | None = None
    """The drug's question that must be answered first, and was asked."""

    @property
    def takes_a_weight(self) -> bool:
        """Whether its weight was read back, so that "no, eighty" corrects it."""
        return self.weight_kg is not None and self.check is None


@dataclass(frozen=True, slots=True)
class DoseQuestion:
    """What somebody asks for, before it is known for which weight it is to be answered."""

    drug: str
    """As in a quote."""
    surely: bool
    """Whether it was surely heard: it is read back all the same with a weight that was named, and
    where the drug's name sounds like another's."""
    named_kg: int | None = None
    """The weight that was named in it; None: the patient's."""
    wanted: Wanted = Wanted.DOSE
    low_pressure: bool = False
    understood: bool = False
    """The drug needs no yes any more, nor the weight that was named with it."""
    barred_by: str | None = None
    """A feature of the patient's, for whose sake it is told only if that is denied."""

    @property
    def of_drug(self) -> str:
        """The drug by itself, whichever its use."""
        return self.drug.partition("/")[0]


@dataclass(frozen=True, slots=True)
class ToldDose:
    """A dose that was told for this patient."""

    dose: str | int | float
    """As it is on record."""
    unit: str
    asked: Quote
    """What it answered."""
    is_in: bool = False
    """It went in since: the next one is another."""


@dataclass(frozen=True, slots=True)
class Fact:
    """Something about the patient that was heard and does not count yet."""

    figure: Figure
    value: Value | None
    """None while its digits are asked for."""
    spoken: str
    """As it is read back."""

    @property
    def about(self) -> tuple[str, Value | None]:
        """What it tells of: an allergy or a feature, also where it denies that, or a figure."""
        if self.figure in ("allergies", "allergy_denied"):
            return "allergies", self.value
        if self.figure in ("feature", "feature_denied"):
            return "feature", self.value
        if self.figure in ("acidosis", "obstruction"):
            return "feature", self.figure
        return self.figure, None

    @property
    def takes_a_number(self) -> bool:
        """Whether a number may be told: its digits are awaited, or "no, eighty" corrects it."""
        return self.value is None or type(self.value) is int


@dataclass(frozen=True, slots=True)
class Mixing:
    """A recipe that is being read out."""

    drug: str
    step: int
    """From 0."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A vital word that was not surely heard, and was asked back."""

    word: str
    """Its meaning."""
    heard_in: State
