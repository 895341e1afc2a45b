"""The patient's course, as it was told aloud and as the watcher saw it: times and their lengths.

The machine sees no breath and no tube. What is here begins and ends with words that somebody said.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from assistant.brief.case import Case
from assistant.brief.clocks import DRUGS_CLOCK
from assistant.brief.confirmed_items import TimedItem
from assistant.brief.events.asking import Asked, PhaseDone, WentNow
from assistant.brief.events.base import Event
from assistant.brief.events.course import (
    AttemptFailed,
    AttemptStarted,
    ClockStarted,
    Entered,
    PacingStarted,
    PacingStopped,
    Restarted,
)
from assistant.brief.events.vital import TubeOut
from assistant.brief.phases import Phase
from assistant.debrief.airways import AIRWAYS
from assistant.debrief.replayed import Happening
from assistant.debrief.spans import Span, joined, less, total_s
from assistant.debrief.timeline import Saturation

SATURATION_HOLDS_S = 15.0
"""How long a recorded saturation counts when none follows it; one that does not change may be
recorded every ten seconds only."""
LOSSES = ("signal-lost", "feed-lost")
"""Calls of the watcher that are not about a saturation."""
RECOVERED = "recovered"


@dataclass(frozen=True, slots=True)
class Watched:
    """How long the saturation was seen, and seen at the threshold or below."""

    threshold_percent: int
    seen_s: float
    low_s: float
    spans: tuple[Span, ...]
    """When it was low, in s from the beginning."""


def brief_at(happenings: Sequence[Happening], phase: Phase, case: Case) -> Span | None:
    """From the first item of a phase that came up to the last one's settling, or to going on.

    None when it was never begun or never finished. Of a phase that is gone through twice, as after
    a second tube, the first time that it was finished. What breaks off the brief before the attempt
    lasts with it, when it is taken up again.
    """
    items = {item.id for item in case.brief.items_of(phase)}
    began_s: float | None = None
    for one in happenings:
        if one.phase is not phase:
            began_s = began_s if phase is Phase.BEFORE else None
        elif isinstance(one.event, Asked) and one.event.item in items and began_s is None:
            began_s = one.at_s
        elif isinstance(one.event, PhaseDone | WentNow) and began_s is not None:
            return began_s, one.at_s
    return None


def was_broken_off(brief_at_s: Span | None, happenings: Sequence[Happening]) -> bool:
    """Whether that brief ended because the patient could not wait, and not because it was done."""
    return brief_at_s is not None and any(
        isinstance(one.event, WentNow) and one.at_s == brief_at_s[1] for one in happenings
    )


def oxygen_until(case: Case, happenings: Sequence[Happening], until: type[Event]) -> Span | None:
    """From the clock of oxygen, the first that the brief before the attempt starts, to the drugs
    (`ClockStarted`) or to the first attempt (`AttemptStarted`).

    `happenings` are without those that did not hold. None when either was not told, or the machine
    was started anew in between.
    """
    timed = (one for one in case.brief.items_of(Phase.BEFORE) if isinstance(one, TimedItem))
    oxygen = next((one.clock for one in timed), None)
    since_s: float | None = None
    for one in happenings:
        event = one.event
        clock = event.clock if isinstance(event, ClockStarted) else None
        if since_s is None:
            since_s = one.at_s if oxygen is not None and clock == oxygen else None
        elif isinstance(event, Restarted) and event.rebooted:
            return None
        elif isinstance(event, until) and clock in (None, DRUGS_CLOCK):
            return since_s, one.at_s
    return None


def drugs_to_airway(happenings: Sequence[Happening]) -> tuple[Span, str] | None:
    """From the words that the drugs are in to the words that an airway is, in s of the case; and
    which airway that was.

    `happenings` are without those that did not hold. The first drugs and the first airway after
    them. None when either was not said, or the machine was started anew in between, so that nobody
    knows how long it took.
    """
    given_s: float | None = None
    for one in happenings:
        event = one.event
        if given_s is None:
            if isinstance(event, ClockStarted) and event.clock == DRUGS_CLOCK:
                given_s = one.at_s
        elif isinstance(event, Restarted) and event.rebooted:
            return None
        elif event.name in AIRWAYS:
            return (given_s, one.at_s), AIRWAYS[event.name]
    return None


def without_breath(whole: Span, happenings: Sequence[Happening]) -> list[Span]:
    """The stretches from the drugs to the airway in which nobody was told to bag, in s of the case:
    the whole without those in which somebody was."""
    return less([whole], bagging(happenings))


def bagging(happenings: Sequence[Happening]) -> list[Span]:
    """When the team bags by what was told, in s of the case; the last may have no end.

    Between a failed attempt and the next one, or a rescue, when the agreed plan has the team bag,
    and while the bag is paced.
    """
    bagged: list[Span] = []
    since_s: float | None = None
    for one in happenings:
        if isinstance(one.event, AttemptFailed | TubeOut | PacingStarted) and since_s is None:
            since_s = one.at_s
        elif _ends_bagging(one.event) or (
            isinstance(one.event, PacingStopped) and not _after_a_failure(happenings, one)
        ):
            if since_s is not None:
                bagged.append((since_s, one.at_s))
            since_s = None
    return bagged if since_s is None else [*bagged, (since_s, float("inf"))]


def _ends_bagging(event: Event) -> bool:
    """Somebody looks, or a rescue begins in which nobody can bag; or an airway is in."""
    if isinstance(event, Entered):
        return event.phase in (Phase.SUPRAGLOTTIC, Phase.FRONT_OF_NECK)
    return isinstance(event, AttemptStarted) or event.name in AIRWAYS


def watched(
    saturation: Sequence[Saturation],
    losses_s: Sequence[float],
    threshold_percent: int,
    until_s: float,
) -> Watched:
    """Each sample holds until the next one, a loss or the end, and no longer than it may."""
    ends = sorted(losses_s)
    seen: list[tuple[Span, bool]] = []
    for sample, following in pairwise((*saturation, None)):
        if sample is None:
            continue
        place = bisect_right(ends, sample.at_s)
        lost_s = ends[place] if place < len(ends) else float("inf")
        next_s = until_s if following is None else following.at_s
        end_s = min(next_s, lost_s, sample.at_s + SATURATION_HOLDS_S)
        if end_s > sample.at_s:
            seen.append(((sample.at_s, end_s), sample.spo2_percent <= threshold_percent))
    low = [span for span, is_low in seen if is_low]
    return Watched(
        threshold_percent, total_s(span for span, _ in seen), total_s(low), tuple(joined(low))
    )


def _after_a_failure(happenings: Sequence[Happening], now: Happening) -> bool:
    """Whether the last attempt has failed: the team bags on, with the tick or without it."""
    last = [
        one.event
        for one in happenings
        if one.at_s <= now.at_s and isinstance(one.event, AttemptStarted | AttemptFailed | TubeOut)
    ]
    return bool(last) and isinstance(last[-1], AttemptFailed | TubeOut)
