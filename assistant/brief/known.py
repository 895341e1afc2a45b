"""What is known of a case, and nothing else: it is equal for equal records."""

from dataclasses import dataclass, field
from enum import Enum

from assistant.brief.items import Phase
from assistant.brief.states import State

Value = str | int | float | bool


class Standing(Enum):
    """What has become of an item."""

    OPEN = "open"
    RUNNING = "running"
    """Its clock runs; it will be asked again when that ends."""
    DUE = "due"
    """Its clock has ended and it has not been asked again yet."""
    DEFERRED = "deferred"
    """Not yet; asked again at the end of the section."""
    OUTSTANDING = "outstanding"
    """Not yet, twice: it stays open and is named when somebody asks what is left."""
    DONE = "done"


@dataclass(slots=True)
class ItemState:
    """One item of the brief in this case."""

    standing: Standing = Standing.OPEN
    answer: str | None = None
    """As it is read back."""


@dataclass(frozen=True, slots=True)
class CaseClock:
    """A clock that was started aloud."""

    started_s: float
    lasts_s: float | None
    """None for a clock that only counts."""
    ended: bool = False
    unknown: bool = False
    """It ran across a restart of the machine: nobody knows how long it has run."""

    @property
    def running(self) -> bool:
        """Whether it runs, and it is known for how long."""
        return not (self.ended or self.unknown)


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


@dataclass(frozen=True, slots=True)
class Fact:
    """Something about the patient that was heard and does not count yet."""

    figure: str
    """The name of a field of `Known`."""
    value: Value | None
    """None while its digits are asked for."""
    spoken: str
    """As it is read back."""


@dataclass(frozen=True, slots=True)
class Mixing:
    """A recipe that is being read out."""

    drug: str
    step: int
    """From 0."""


@dataclass(slots=True)
class Known:
    """All that is known of a case besides its state; equal for equal records."""

    items: dict[str, ItemState]
    phase: Phase = Phase.BEFORE
    current: str | None = None
    """The item that is being asked."""
    asked_s: float | None = None
    """When it was asked first, on the clock of the record; None when the machine was started anew
    since."""
    pending: Pending | None = None
    quote: Quote | None = None
    fact: Fact | None = None
    mixing: Mixing | None = None
    aside_from: State = State.OPENED
    weight_kg: int | None = None
    weight_in_doubt: bool = False
    """Known from before a restart: it must be confirmed again before any dose."""
    height_cm: int | None = None
    age_years: int | None = None
    sex: str | None = None
    low_pressure: bool | None = None
    allergies: list[str] = field(default_factory=list)
    """Of the formulary's allergens, in the order in which they were told."""
    excluded: list[str] = field(default_factory=list)
    """What was asked before a dose and is excluded, as "drug:question"."""
    pacing: bool = False
    """Whether the bag is paced."""
    attempts: int = 0
    clocks: dict[str, CaseClock] = field(default_factory=dict)
    trail: list[str] = field(default_factory=list)
    """Items answered or deferred, in order: the way back."""
