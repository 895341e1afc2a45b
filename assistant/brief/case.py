"""One case: the fold over the events of its record.

Live, after a restart, in a debrief and in a test a case comes about in the same way: every event
row of the journal is applied in order, and nothing else changes it.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from transitions import EventData, Machine

from assistant.brief.items import AnyItem, Brief, Phase, TimedItem
from assistant.brief.steps import STEPS, State
from assistant.journal.rows import Row


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


@dataclass(frozen=True, slots=True)
class Pending:
    """A value that was read back and is not confirmed."""

    value: str | float
    spoken: str


@dataclass(frozen=True, slots=True)
class Quote:
    """A dose question whose drug and weight were read back and are not confirmed."""

    drug: str
    weight_kg: int
    what_if: bool
    """True when the weight is not the patient's confirmed one."""


@dataclass(slots=True)
class Known:
    """All that is known of a case besides its state; equal for equal records."""

    items: dict[str, ItemState]
    phase: Phase = Phase.BEFORE
    current: str | None = None
    """The item that is being asked."""
    pending: Pending | None = None
    quote: Quote | None = None
    aside_from: State = State.OPENED
    weight_kg: int | None = None
    height_cm: int | None = None
    attempts: int = 0
    clocks: dict[str, CaseClock] = field(default_factory=dict)
    trail: list[str] = field(default_factory=list)
    """Items answered or deferred, in order: the way back."""


class Case:
    """The state of one case; only `apply` changes it."""

    def __init__(self, brief: Brief) -> None:
        self.brief = brief
        self.known = Known({item.id: ItemState() for item in brief.items()})
        self.state: State = State.OPENED
        self._machine = Machine(
            model=self,
            states=State,
            initial=State.OPENED,
            transitions=[
                {
                    "trigger": step.event,
                    "source": list(step.sources),
                    "dest": step.dest,
                    "conditions": [self._began_here] if step.back else [],
                    "after": self._learn,
                    "before": self._remember,
                }
                for step in STEPS
            ],
            auto_transitions=False,
            send_event=True,
        )

    @classmethod
    def rebuilt(cls, brief: Brief, rows: Iterable[Row]) -> "Case":
        """The case that a record describes."""
        case = cls(brief)
        for row in rows:
            case.apply(row)
        return case

    def apply(self, row: Row) -> None:
        """Take in one row; rows that are not events of the conversation change nothing.

        Raises transitions.MachineError for an event that cannot happen in this state: a fault of
        the caller, never of a person.
        """
        if row.kind == "event" and "event" in row.data:
            values = {key: value for key, value in row.data.items() if key != "event"}
            self.trigger(row.data["event"], row=row, **values)  # type: ignore[attr-defined]

    def item(self, item_id: str) -> AnyItem:
        """The item of that name in the site's brief."""
        return next(item for item in self.brief.items() if item.id == item_id)

    @property
    def current(self) -> AnyItem | None:
        """The item that is being asked."""
        return None if self.known.current is None else self.item(self.known.current)

    def with_standing(self, *standings: Standing) -> list[AnyItem]:
        """The items of the present phase that stand so, in the order of the brief."""
        return [
            item
            for section in self.brief.sections
            if section.phase is self.known.phase
            for item in section.items
            if self.known.items[item.id].standing in standings
        ]

    # What `transitions` calls.

    def _began_here(self, event: EventData) -> bool:
        return event.transition is not None and event.transition.dest == self.known.aside_from.name

    def _remember(self, event: EventData) -> None:
        """An aside returns to where it began; a read-back that it interrupts is asked anew."""
        asides = ("dose-queried", "held", "closing")
        if event.event.name in asides and self.state not in (
            State.QUOTING,
            State.HELD,
            State.CLOSING,
        ):
            checking = self.state is State.CHECKING
            self.known.aside_from = State.ASKING if checking else self.state

    def _learn(self, event: EventData) -> None:
        learn = _LEARN.get(event.event.name)
        if learn is not None:
            learn(self, **event.kwargs)


# What each event teaches. They take the event's own values; `row` carries its time.


def _asked(case: Case, *, item: str, **_: Any) -> None:
    case.known.current = item
    case.known.pending = None


def _value_heard(case: Case, *, value: str | float, spoken: str, **_: Any) -> None:
    case.known.pending = Pending(value, spoken)


def _value_refused(case: Case, **_: Any) -> None:
    case.known.pending = None


def _settled(case: Case, item_id: str, standing: Standing, answer: str | None) -> None:
    known = case.known
    known.items[item_id] = ItemState(standing, answer)
    known.current = known.pending = None
    if item_id in known.trail:
        known.trail.remove(item_id)
    known.trail.append(item_id)


def _answered(case: Case, *, item: str, value: Any, spoken: str, **_: Any) -> None:
    asked = case.item(item)
    first_time = case.known.items[item].standing is not Standing.DUE
    running = isinstance(asked, TimedItem) and first_time
    _settled(case, item, Standing.RUNNING if running else Standing.DONE, spoken)
    if asked.kind == "number" and asked.sets is not None:
        setattr(case.known, asked.sets, int(value))


def _deferred(case: Case, *, item: str, **_: Any) -> None:
    becomes = {Standing.OPEN: Standing.DEFERRED, Standing.DUE: Standing.RUNNING}
    before = case.known.items[item].standing
    _settled(case, item, becomes.get(before, Standing.OUTSTANDING), None)


def _reopened(case: Case, *, item: str, **_: Any) -> None:
    case.known.items[item] = ItemState()
    case.known.current = case.known.pending = None
    if item in case.known.trail:
        case.known.trail.remove(item)
    asked = case.item(item)
    if asked.kind == "number" and asked.sets is not None:
        setattr(case.known, asked.sets, None)  # no dose for a weight that is in doubt


def _phase_done(case: Case, **_: Any) -> None:
    case.known.current = None


def _went_now(case: Case, *, open_items: list[str], **_: Any) -> None:
    for item in open_items:
        case.known.items[item] = ItemState(Standing.OUTSTANDING)
    case.known.current = case.known.pending = case.known.quote = None


def _dose_queried(case: Case, *, drug: str, weight_kg: int, what_if: bool, **_: Any) -> None:
    case.known.quote = Quote(drug, weight_kg, what_if)
    case.known.pending = None


def _dose_settled(case: Case, **_: Any) -> None:
    case.known.quote = None


def _set_aside(case: Case, **_: Any) -> None:
    case.known.pending = case.known.quote = None


def _attempt_started(case: Case, **_: Any) -> None:
    case.known.attempts += 1


def _tube_in(case: Case, **_: Any) -> None:
    case.known.phase = Phase.AFTER


def _clock_started(case: Case, *, row: Row, clock: str, lasts_s: float | None, **_: Any) -> None:
    case.known.clocks[clock] = CaseClock(row.mono_s, lasts_s)


def _clock_ended(case: Case, *, clock: str, **_: Any) -> None:
    ran = case.known.clocks[clock]
    case.known.clocks[clock] = CaseClock(ran.started_s, ran.lasts_s, ended=True)
    for item in case.brief.items():
        if isinstance(item, TimedItem) and item.clock == clock:
            state = case.known.items[item.id]
            if state.standing is Standing.RUNNING:
                case.known.items[item.id] = ItemState(Standing.DUE)


_LEARN: dict[str, Callable[..., None]] = {
    "asked": _asked,
    "value-heard": _value_heard,
    "value-refused": _value_refused,
    "answered": _answered,
    "deferred": _deferred,
    "reopened": _reopened,
    "phase-done": _phase_done,
    "went-now": _went_now,
    "dose-queried": _dose_queried,
    "dose-told": _dose_settled,
    "dose-dropped": _dose_settled,
    "held": _set_aside,
    "closing": _set_aside,
    "attempt-started": _attempt_started,
    "tube-in": _tube_in,
    "clock-started": _clock_started,
    "clock-ended": _clock_ended,
}
