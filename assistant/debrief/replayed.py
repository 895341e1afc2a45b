"""A case folded once more from its record, by the very events that the live side applied."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from assistant.brief.brief import Brief
from assistant.brief.case import Case
from assistant.brief.events.asides import FactTaken
from assistant.brief.events.asking import Asked, PhaseDone, WentNow
from assistant.brief.events.base import Event
from assistant.brief.events.vital import TakenBack
from assistant.brief.phases import Phase
from assistant.debrief.loops import Loop, Loops
from assistant.debrief.spans import Span
from assistant.journal.rows import Row


@dataclass(frozen=True, slots=True)
class Happening:
    """An event of the case, in s from its beginning."""

    at_s: float
    event: Event
    spoken_at_s: float
    """When somebody began to say what led to it; its own time when nobody did."""
    phase: Phase
    """Of the case, after it."""
    item: str | None = None
    """The item whose answer it was, as far as the row names one."""


@dataclass(frozen=True, slots=True)
class ToldUnasked:
    """What an item asks for, told and confirmed while it was not asked; in s from the beginning."""

    item: str
    at_s: float
    answer: str
    """As it is read back."""


@dataclass(slots=True)
class Replayed:
    """The case as it was at the end of its record, and what only its course tells."""

    case: Case
    came_up: dict[str, None] = field(default_factory=dict)
    """The items that were asked, told or named as left open, in the order of their first time."""
    loops: list[Loop] = field(default_factory=list)
    happenings: list[Happening] = field(default_factory=list)
    told_unasked: list[ToldUnasked] = field(default_factory=list)
    taken_back: list[Span] = field(default_factory=list)
    """From each word that was taken back until it was."""


def replay(
    brief: Brief, rows: Iterable[Row], began_s: float = 0.0, calls: Sequence[Span] = ()
) -> Replayed:
    """Fold a whole record; what it holds that cannot be applied is in the case's `unread`.

    `began_s` is the clock's time at the beginning; `calls` are when the watcher spoke, from there.
    """
    replayed = Replayed(Case(brief))
    loops = Loops(brief, began_s, calls)
    case, spoken_at_s = replayed.case, None
    came_up: list[tuple[float, str]] = []
    for row in rows:
        before, refused, asked = case.state, case.known.pending, case.known.current
        event = case.apply_old(row)
        at_s = round(row.mono_s - began_s, 2)
        if event is None:
            loops.words(row, before)
            if row.who == "team":  # what is said next follows from it
                spoken_at_s = at_s if row.kind == "heard" else spoken_at_s
            elif row.kind == "said":
                spoken_at_s = None
            continue
        loops.happened(event, row, case, None if refused is None else refused.spoken)
        spoken_s = at_s if spoken_at_s is None else spoken_at_s
        replayed.happenings.append(Happening(at_s, event, spoken_s, case.known.phase, row.item))
        if isinstance(event, TakenBack):
            from_s = _undo(replayed, began_s, at_s)
            came_up = [one for one in came_up if one[0] < from_s]
            loops.undo(from_s)
        elif isinstance(event, Asked):
            came_up.append((at_s, event.item))
        elif isinstance(event, FactTaken):
            items = [one.id for one in brief.asking_for(event.figure) if one.id != asked]
            came_up += [(at_s, one) for one in items]
            replayed.told_unasked += [ToldUnasked(one, at_s, event.spoken) for one in items]
        elif isinstance(event, PhaseDone | WentNow):
            came_up += [(at_s, one) for one in event.open_items]
    replayed.came_up = dict.fromkeys(item for _, item in came_up)
    replayed.loops = loops.end()
    return replayed


def _undo(replayed: Replayed, began_s: float, at_s: float) -> float:
    """What a word led to that was taken back at that time did not happen; return since when."""
    since_s = replayed.case.undone_since_s
    from_s = at_s if since_s is None else round(since_s - began_s, 2)
    replayed.happenings = [one for one in replayed.happenings if one.at_s < from_s]
    replayed.told_unasked = [one for one in replayed.told_unasked if one.at_s < from_s]
    replayed.taken_back.append((from_s, at_s))
    return from_s
