"""When oxygen could get in again, and so what answered a saturation call.

One rule for the page, the measures and what a scenario expects.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from assistant.brief.events.course import AttemptFailed, PacingStarted, TubeIn
from assistant.brief.events.vital import CannotOxygenate, NeckOpen, RescueIn, TubeOut
from assistant.brief.phases import Phase
from assistant.debrief.course import LOSSES, RECOVERED, SATURATION_HOLDS_S, bagging
from assistant.debrief.entries import TimelineEntry
from assistant.debrief.replayed import Happening
from assistant.debrief.timeline import Saturation

RESPONSES: Mapping[str, str] = {
    AttemptFailed.name: "the attempt was given up",
    PacingStarted.name: "the bag was paced",
    TubeIn.name: "the tube was in",
    TubeOut.name: "the tube was taken out",
    CannotOxygenate.name: "the neck was turned to",
    RescueIn.name: "the supraglottic airway was in",
    NeckOpen.name: "a tube was in through the neck",
}
"""What is said aloud when oxygen is to get in again, by the name of its event."""
ALREADY = "the team was bagging already"
_WORSE = "worse"
"""The meaning of "it's getting worse", which is answered by what to do first: bag with oxygen."""


@dataclass(frozen=True, slots=True)
class Regained:
    """A moment at which oxygen could get in again, in s from the beginning, and by what."""

    at_s: float
    how: str


@dataclass(frozen=True, slots=True)
class Response:
    """A saturation call, and the first thing on record after it by which oxygen gets in again."""

    called_at_s: float
    answered_at_s: float | None
    """None when there was none; the call's own time where the team was bagging already."""
    how: str | None
    unknown: bool = False
    """The machine was started anew in between: nobody knows how long that took."""

    @property
    def took_s(self) -> float | None:
        """From the first sound of the call to the first of those words; None without any, and where
        nobody knows."""
        if self.answered_at_s is None or self.unknown:
            return None
        return round(self.answered_at_s - self.called_at_s, 2)

    @property
    def already(self) -> bool:
        """Nothing had to be done: the team was bagging."""
        return self.how == ALREADY


def falls(calls: Sequence[TimelineEntry]) -> list[float]:
    """When the watcher called a saturation that is low, by the first sound."""
    return [
        one.at_s
        for one in calls
        if one.at_s is not None and one.meaning not in (*LOSSES, RECOVERED)
    ]


def regained(
    entries: Sequence[TimelineEntry],
    happenings: Sequence[Happening],
    saturation: Sequence[Saturation],
    threshold_percent: int | None,
) -> list[Regained]:
    """All such moments in order, of a case's entries and of what happened in it and held."""
    calls = [one for one in entries if one.who == "watcher" and one.kind == "said"]
    found = [
        Regained(one.spoken_at_s, RESPONSES[one.event.name])
        for one in happenings
        if one.event.name in RESPONSES and not _at_the_neck_already(one)
    ]
    for begin_s, end_s in bagging(happenings):
        found += [Regained(one, ALREADY) for one in falls(calls) if begin_s < one < end_s]
    for one in entries:
        worse = (one.who, one.meaning, one.verdict) == ("team", _WORSE, "accept")
        if worse and one.at_s is not None:
            found.append(Regained(one.at_s, "“it is getting worse” was said, and what to do told"))
    back = [one.at_s for one in calls if one.meaning == RECOVERED and one.at_s is not None]
    back += _came_back(saturation, threshold_percent)
    found += [Regained(one, "the saturation came back") for one in back]
    return sorted(found, key=lambda one: one.at_s)


def responses(
    calls: Sequence[float], found: Sequence[Regained], reboots_s: Sequence[float] = ()
) -> Iterator[Response]:
    """Each saturation call with the first of those moments after it; `reboots_s` are the times at
    which the machine was started anew."""
    for called_s in calls:
        first = next((one for one in found if one.at_s >= called_s), None)
        if first is None:
            yield Response(called_s, None, None)
        elif first.how == ALREADY:
            yield Response(called_s, called_s, ALREADY)
        else:
            unknown = any(called_s < one <= first.at_s for one in reboots_s)
            yield Response(called_s, first.at_s, first.how, unknown)


def _at_the_neck_already(one: Happening) -> bool:
    """Whether no oxygen was said to get in when the neck was next already: it is turned to once."""
    return isinstance(one.event, CannotOxygenate) and one.phase is Phase.FRONT_OF_NECK


def _came_back(samples: Sequence[Saturation], threshold_percent: int | None) -> Iterator[float]:
    """When a saturation that was low rose above the threshold and stayed there for a while; one
    sample above it may be noise."""
    if threshold_percent is None:
        return
    low, risen_s = False, None
    for one in samples:
        if one.spo2_percent <= threshold_percent:
            low, risen_s = True, None
        elif low:
            risen_s = one.at_s if risen_s is None else risen_s
            if one.at_s - risen_s >= SATURATION_HOLDS_S:
                yield risen_s
                low = False
