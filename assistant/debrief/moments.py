"""When what a scenario names has happened in a case, and how it is told to people."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from assistant.brief.brief import Brief
from assistant.brief.clocks import DRUGS_CLOCK
from assistant.brief.events.asides import DoseQueried, Ended, FactTaken
from assistant.brief.events.asking import Answered, Asked, Deferred, WentNow
from assistant.brief.events.base import Event
from assistant.brief.events.course import (
    AttemptFailed,
    AttemptStarted,
    ClockStarted,
    DrugGiven,
    Entered,
    PacingStarted,
    PausePassed,
    Restarted,
    TubeIn,
)
from assistant.brief.events.vital import Arrest, CannotOxygenate, NeckOpen, RescueIn, TubeOut
from assistant.brief.phases import Phase
from assistant.debrief.course import LOSSES, RECOVERED
from assistant.debrief.entries import TimelineEntry
from assistant.debrief.regained import Regained
from assistant.debrief.replayed import Happening
from assistant.debrief.scenario import Happens, Moment
from assistant.journal.facilitator import STEERED

_EVENTS: Mapping[Happens, type[Event]] = {
    Happens.GOING_NOW: WentNow,
    Happens.PAUSE_PASSED: PausePassed,
    Happens.ATTEMPT_BEGUN: AttemptStarted,
    Happens.ATTEMPT_FAILED: AttemptFailed,
    Happens.BAG_PACED: PacingStarted,
    Happens.TUBE_IN: TubeIn,
    Happens.TUBE_OUT: TubeOut,
    Happens.CANNOT_OXYGENATE: CannotOxygenate,
    Happens.RESCUE_IN: RescueIn,
    Happens.NECK_OPEN: NeckOpen,
    Happens.ARREST: Arrest,
    Happens.CASE_ENDED: Ended,
}
_TOLD = {
    Happens.CASE_OPENED: "the case was opened",
    Happens.GOING_NOW: "the patient could not wait",
    Happens.PAUSE_PASSED: "the pause before the drugs",
    Happens.DRUGS_IN: "the drugs were in",
    Happens.ATTEMPT_BEGUN: "an attempt began",
    Happens.ATTEMPT_FAILED: "an attempt failed",
    Happens.BAG_PACED: "the bag was paced",
    Happens.TUBE_IN: "the tube was in",
    Happens.TUBE_OUT: "the tube was out",
    Happens.CANNOT_OXYGENATE: "no oxygen got in",
    Happens.RESCUE_IN: "the supraglottic airway was in",
    Happens.NECK_OPEN: "a tube was in through the neck",
    Happens.ARREST: "the heart stopped",
    Happens.CALLED: "a saturation call",
    Happens.SIGNAL_LOST: "a call for a lost signal",
    Happens.OXYGEN_IN_AGAIN: "oxygen could get in again",
    Happens.CASE_ENDED: "the case was ended",
}


class Moments:
    """Finds what a scenario may name in the record of one case; times in s from its beginning."""

    def __init__(
        self,
        brief: Brief,
        entries: Sequence[TimelineEntry],
        happenings: Sequence[Happening],
        in_again: Sequence[Regained],
    ) -> None:
        """`in_again` are the moments at which oxygen could get in again."""
        self._brief = brief
        self._placed = [(one.at_s, one) for one in entries if one.at_s is not None]
        self._happenings = happenings
        self._in_again = in_again

    def times(self, moment: Moment) -> list[float]:
        """When that was, in order; people's words by their first sound."""
        if moment.happened is Happens.CASE_OPENED:
            return [0.0]
        calls = {Happens.CALLED: False, Happens.SIGNAL_LOST: True}
        if moment.happened in calls:
            return self._calls(losses=calls[moment.happened])
        if moment.steered is not None or moment.marked is not None:
            return [at_s for at_s, one in self._placed if _is_facilitators(moment, one)]
        if moment.happened is Happens.OXYGEN_IN_AGAIN:
            return [one.at_s for one in self._in_again]
        is_it = _finder(moment, self._brief)
        found = [one for one in self._happenings if is_it(one.event)]
        return sorted(one.at_s if moment.asked else one.spoken_at_s for one in found)

    def reboots(self) -> list[float]:
        """When the machine was started anew: nobody knows for how long it was off."""
        return [
            one.at_s
            for one in self._happenings
            if isinstance(one.event, Restarted) and one.event.rebooted
        ]

    def told(self, moment: Moment) -> str:
        """What that is, for people."""
        if moment.happened is not None:
            return _TOLD[moment.happened]
        key, name = _named(moment)
        if key in ("asked", "answered", "put_off"):
            return f"{self._brief.item(name).label}: {key.replace('_', ' ')}"
        return {
            "entered": f"{name.replace('-', ' ')} began",
            "dose_asked": f"{name}: dose asked",
            "given": f"{name} was given",
            "steered": f"the patient was steered: {name.replace('-', ' ')}",
            "marked": f"marked: {name}",
        }[key]

    def _calls(self, *, losses: bool) -> list[float]:
        """One that nobody heard is none: nobody can be expected to act on it."""
        return [
            at_s
            for at_s, one in self._placed
            if (one.who, one.kind) == ("watcher", "said")
            and not one.unheard
            and one.meaning != RECOVERED
            and (one.meaning in LOSSES) is losses
        ]


def _named(moment: Moment) -> tuple[str, str]:
    ((key, name),) = moment.model_dump(mode="json", exclude_none=True).items()
    return key, name


def _finder(moment: Moment, brief: Brief) -> Callable[[Event], bool]:
    """Tells whether an event is what that names."""
    key, name = _named(moment)
    if moment.happened is Happens.DRUGS_IN:
        return lambda event: isinstance(event, ClockStarted) and event.clock == DRUGS_CLOCK
    if moment.happened is not None:
        kind = _EVENTS[moment.happened]
        return lambda event: isinstance(event, kind)
    if moment.entered is not None:
        return lambda event: (
            moment.entered is (Phase.AFTER if isinstance(event, TubeIn) else _phase_of(event))
        )
    return lambda event: name in _NAMED[key](event, brief)


def _phase_of(event: Event) -> Phase | None:
    return event.phase if isinstance(event, Entered) else None


def _answered(event: Event, brief: Brief) -> Sequence[str]:
    """The items that an event settles: told at any time, a patient's figure answers one too."""
    if isinstance(event, FactTaken):
        return [item.id for item in brief.asking_for(event.figure)]
    return [event.item] if isinstance(event, Answered) else []


_NAMED: Mapping[str, Callable[[Any, Brief], Sequence[str]]] = {
    "asked": lambda event, _: [event.item] if isinstance(event, Asked) else [],
    "answered": _answered,
    "put_off": lambda event, _: [event.item] if isinstance(event, Deferred) else [],
    "dose_asked": lambda event, _: (
        [event.drug.split("/")[0]] if isinstance(event, DoseQueried) else []
    ),
    "given": lambda event, _: [event.drug] if isinstance(event, DrugGiven) else [],
}


def _is_facilitators(moment: Moment, one: TimelineEntry) -> bool:
    if one.who != "facilitator":
        return False
    if moment.steered is not None:
        return one.meaning == STEERED and one.text == moment.steered.value
    words = (moment.marked or "").casefold()
    return words in (one.text.casefold(), (one.meaning or "").casefold())
