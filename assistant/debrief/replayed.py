"""A case folded once more from its record, by the very events that the live side applied."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from assistant.brief.brief import Brief
from assistant.brief.case import Case
from assistant.brief.events.asking import (
    Answered,
    Asked,
    Deferred,
    PhaseDone,
    ValueRefused,
    WentNow,
)
from assistant.journal.rows import Row


@dataclass(frozen=True, slots=True)
class Question:
    """An item that was asked and settled, by an answer or a "not yet"."""

    item: str
    took_s: float
    at_first_hearing: bool
    """Nothing that was said in between was ignored, doubted, or read back and refused."""


@dataclass(slots=True)
class Replayed:
    """The case as it was at the end of its record, and what only its course tells."""

    case: Case
    came_up: dict[str, None] = field(default_factory=dict)
    """The items that were asked, or named as left open, in the order of their first time."""
    settled: list[Question] = field(default_factory=list)
    _plain: bool = True
    """Of the question that is open: whether all has gone well with it so far."""

    def take(self, row: Row) -> None:
        """One row more."""
        known = self.case.known
        item, asked_s = known.current, known.asked_s
        event = self.case.apply_old(row)
        if isinstance(event, Asked):
            self._plain = True
            self.came_up[event.item] = None
        elif isinstance(event, PhaseDone | WentNow):
            self.came_up |= dict.fromkeys(event.open_items)
        elif isinstance(event, Answered | Deferred):
            if event.item == item and asked_s is not None:
                self.settled.append(Question(item, row.mono_s - asked_s, self._plain))
        elif isinstance(event, ValueRefused) or _not_understood(row):
            self._plain = False


def _not_understood(row: Row) -> bool:
    return row.kind == "ignored" or (row.kind == "heard" and row.data.get("verdict") == "ask")


def replay(brief: Brief, rows: Iterable[Row]) -> Replayed:
    """Fold a whole record; what it holds that cannot be applied is in the case's `unread`."""
    replayed = Replayed(Case(brief))
    for row in rows:
        replayed.take(row)
    return replayed
