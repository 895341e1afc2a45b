"""What went in to ventilate the patient through, whether it held, and what else turned the case."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from assistant.brief.brief import Brief
from assistant.brief.case import Case
from assistant.brief.clocks import ARREST_CLOCK
from assistant.brief.confirmed_items import WaveItem
from assistant.brief.events.asking import Answered, WentNow
from assistant.brief.events.base import Event
from assistant.brief.events.course import AttemptStarted, Entered, TubeIn
from assistant.brief.events.vital import (
    Arrest,
    CannotOxygenate,
    NeckOpen,
    RescueIn,
    RescueStarted,
    TubeOut,
)
from assistant.brief.phases import Phase
from assistant.debrief.replayed import Happening
from assistant.debrief.spans import Span

AIRWAYS: Mapping[str, str] = {
    TubeIn.name: "the tube",
    RescueIn.name: "the supraglottic airway",
    NeckOpen.name: "the tube through the neck",
}
"""What goes in, by the name of its event."""
_ITS_ITEMS = {
    TubeIn.name: Phase.AFTER,
    RescueIn.name: Phase.SUPRAGLOTTIC_IN,
    NeckOpen.name: Phase.NECK_OPEN,
}
_DECIDED = {
    Phase.FRONT_OF_NECK: "the front of the neck was next",
    Phase.WAKE_UP: "the patient was to wake up",
}
NO_WAVE = "gave no wave"
CANNOT_WAIT = "the patient could not wait"
_DRAWN = {
    Phase.BETWEEN: "between",
    Phase.SUPRAGLOTTIC: "to supraglottic",
    Phase.SUPRAGLOTTIC_IN: "supraglottic in",
    Phase.FRONT_OF_NECK: "to neck",
    Phase.NECK_OPEN: "neck open",
    Phase.WAKE_UP: "waking up",
    Phase.AFTER: "after the tube",
}


@dataclass(frozen=True, slots=True)
class Turn:
    """Something that turned the case for the worse, or was a rescue; besides the attempts."""

    at_s: float
    what: str
    """"The supraglottic airway was in"."""
    lasted_s: float | None = None
    """Of an arrest, until the pulse was told to be back; None when that was not told."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the case's course, in s from its beginning."""

    name: str
    span: Span


def that_held(brief: Brief, happenings: Sequence[Happening]) -> list[Happening]:
    """The same without what went in and came out before anybody had seen its wave: such a tube was
    in the gullet, for all that anybody knows."""
    return [
        one
        for place, one in enumerate(happenings)
        if one.event.name not in AIRWAYS
        or _held(brief, one.event, [later.event for later in happenings[place + 1 :]])
    ]


def phases_reached(brief: Brief, happenings: Sequence[Happening]) -> set[Phase]:
    """Those that the case came to; what is asked of an airway, only if one of its kind held."""
    held = {one.event.name for one in that_held(brief, happenings)}
    failed = {phase for name, phase in _ITS_ITEMS.items() if name not in held}
    return {one.phase for one in happenings} - failed


def _held(brief: Brief, went_in: Event, later: Sequence[Event]) -> bool:
    items = list(brief.items_of(_ITS_ITEMS[went_in.name]))
    vouching = [one.id for one in items if isinstance(one, WaveItem)] or [one.id for one in items]
    for event in later:
        if isinstance(event, Answered) and event.item in vouching:
            return True
        if isinstance(event, TubeOut | CannotOxygenate | RescueStarted | AttemptStarted):
            return False
        if event.name in AIRWAYS:
            return False  # another one was needed
    return True


def turns(case: Case, happenings: Sequence[Happening], began_s: float) -> Iterator[Turn]:
    """In the order in which they were told."""
    arrests = {
        round(run.started_s - began_s, 2): run.ended_s
        for run in case.known.clock_runs
        if run.name == ARREST_CLOCK and not run.unknown
    }
    # From it follows the neck, which need not be told once more.
    no_oxygen_s = {one.at_s for one in happenings if isinstance(one.event, CannotOxygenate)}
    airway = "what was in"
    for one in happenings:
        event = one.event
        airway = AIRWAYS.get(event.name, airway)
        if isinstance(event, WentNow):
            yield Turn(one.at_s, CANNOT_WAIT)
        elif isinstance(event, Arrest):
            ended_s = arrests.get(one.at_s)
            lasted_s = None if ended_s is None else round(ended_s - began_s - one.at_s, 2)
            yield Turn(one.at_s, "the heart stopped", lasted_s)
        elif isinstance(event, CannotOxygenate):
            yield Turn(one.at_s, "no oxygen got in from above")
        elif isinstance(event, RescueIn | NeckOpen):
            yield Turn(one.at_s, f"{airway} was in")
        elif isinstance(event, TubeOut):
            # Where its wave was asked for, nobody has said that it is out.
            yield Turn(one.at_s, f"{airway} {'was out again' if one.item is None else NO_WAVE}")
        elif isinstance(event, Entered) and one.at_s not in no_oxygen_s:
            decided = _DECIDED.get(event.phase)
            if decided is not None:
                yield Turn(one.at_s, decided)


def stretches(happenings: Sequence[Happening], until_s: float) -> Iterator[Stretch]:
    """The phases from the first attempt on, without the attempts themselves."""
    name, since_s = "", 0.0
    for one in happenings:
        event = one.event
        phase = event.phase if isinstance(event, Entered) else None
        if isinstance(event, TubeIn):
            phase = Phase.AFTER
        if phase is None and not isinstance(event, AttemptStarted | TubeOut):
            continue
        if name and one.at_s > since_s:
            yield Stretch(name, (since_s, one.at_s))
        name, since_s = ("" if phase is None else _DRAWN.get(phase, "")), one.at_s
    if name and until_s > since_s:
        yield Stretch(name, (since_s, until_s))
