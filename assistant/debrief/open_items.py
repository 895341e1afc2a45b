"""What was open at the end of a case: left so, overtaken by the course of it, or never come to."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.phases import Phase
from assistant.debrief.airways import phases_reached
from assistant.debrief.replayed import Replayed

_WHEN = {
    Phase.BEFORE: "before the attempt",
    Phase.INDUCTION: "once the drugs were in",
    Phase.BETWEEN: "between attempts",
    Phase.SUPRAGLOTTIC: "before the supraglottic airway",
    Phase.SUPRAGLOTTIC_IN: "with the supraglottic airway in",
    Phase.FRONT_OF_NECK: "before the neck",
    Phase.NECK_OPEN: "with the tube through the neck",
    Phase.WAKE_UP: "on waking up",
    Phase.AFTER: "after the tube",
}
_CAME = {
    Phase.INDUCTION: "the drugs",
    Phase.BETWEEN: "a failed attempt",
    Phase.SUPRAGLOTTIC: "the supraglottic airway",
    Phase.SUPRAGLOTTIC_IN: "the supraglottic airway",
    Phase.FRONT_OF_NECK: "the front of the neck",
    Phase.NECK_OPEN: "the tube through the neck",
    Phase.WAKE_UP: "waking up",
    Phase.AFTER: "the tube",
}


@dataclass(frozen=True, slots=True)
class Overtaken:
    """An item that was open when the case had gone on to something else, and is owed no more."""

    item: str
    by: str
    """What came instead, in words."""


@dataclass(frozen=True, slots=True)
class NotComeTo:
    """Items that nobody asked and nobody told of, of one phase that the case came to."""

    when: str
    """In words: "after the tube"."""
    items: tuple[str, ...]


def overtaken(replayed: Replayed, still_open: Sequence[str]) -> tuple[Overtaken, ...]:
    """Of what is still open, that which belongs to a phase that is over."""
    case = replayed.case
    by = {one.item: one.overtaken_by for one in replayed.loops}
    came = _CAME.get(case.known.phase, "the course of the case")
    return tuple(
        Overtaken(item, by.get(item) or came)
        for item in still_open
        if not _is_owed(replayed, case.section_of(item).phase)
    )


def answered_before(replayed: Replayed, still_open: Sequence[str]) -> tuple[str, ...]:
    """Of what is still open, that which was answered when it was asked last: a further attempt has
    opened it, and in the phase that is over nobody asked for it again."""
    last = {one.item: one for one in replayed.loops}
    closed = {item for item, one in last.items() if one.outcome == "closed" and not one.taken_back}
    return tuple(
        item
        for item in still_open
        if item in closed and not _is_owed(replayed, replayed.case.section_of(item).phase)
    )


def not_come_to(replayed: Replayed) -> tuple[NotComeTo, ...]:
    """By phase, of those that the case came to and that are not over, what the brief in hand asks
    of this patient and nobody came to."""
    reached = phases_reached(replayed.case.brief, replayed.happenings)
    never: dict[Phase, list[str]] = {}
    for phase, item in _untouched(replayed):
        if phase in reached and _is_owed(replayed, phase):
            never.setdefault(phase, []).append(item.id)
    return tuple(NotComeTo(_WHEN[phase], tuple(items)) for phase, items in never.items())


def _untouched(replayed: Replayed) -> Iterator[tuple[Phase, AnyItem]]:
    case = replayed.case
    for section in case.brief.sections:
        for item in section.items:
            state = case.known.items[item.id]
            untouched = not state.asked_times and state.standing is not Standing.DONE
            if untouched and case.applies(item):
                yield section.phase, item


def _is_owed(replayed: Replayed, phase: Phase) -> bool:
    """The brief before the attempt is owed to the end; what belongs to another phase until the next
    one, as the live handover has it."""
    return phase in (Phase.BEFORE, replayed.case.known.phase)
