"""The part of a long case up to the airway, which in a drawing of all of it could not be read."""

from dataclasses import replace

from assistant.debrief.findings import Measures
from assistant.debrief.timeline import Timeline

LONG_S = 1800.0
"""A case that lasts longer has that part drawn as well, where it is not most of it."""
AFTER_S = 120.0
"""So much of what follows belongs to it: the wave, and the first items after the tube."""


def up_to_the_airway(timeline: Timeline, measures: Measures) -> tuple[Timeline, Measures] | None:
    """That part, by the times of the whole; None where the case is short or no airway is told."""
    ended_s = _airway_s(measures)
    if ended_s is None or measures.duration_s < max(LONG_S, 2 * (ended_s + AFTER_S)):
        return None
    until_s = ended_s + AFTER_S
    part = replace(
        timeline,
        entries=tuple(one for one in timeline.entries if _before(one.at_s, until_s)),
        saturation=tuple(one for one in timeline.saturation if one.at_s < until_s),
        restarts=tuple(one for one in timeline.restarts if one.at_s < until_s),
    )
    return part, replace(
        measures,
        duration_s=until_s,
        loops=tuple(
            one for one in measures.loops if _before(one.settled_at_s or one.asked_at_s, until_s)
        ),
        calls=tuple(one for one in measures.calls if _before(one.at_s, until_s)),
        clocks=tuple(one for one in measures.clocks if one.started_at_s < until_s),
        attempts=tuple(one for one in measures.attempts if one.started_at_s < until_s),
        stretches=tuple(
            replace(one, span=(one.span[0], min(one.span[1], until_s)))
            for one in measures.stretches
            if one.span[0] < until_s
        ),
        expected=tuple(one for one in measures.expected if _before(one.due_at_s, until_s)),
    )


def _airway_s(measures: Measures) -> float | None:
    """When an airway that held was told to be in; without drugs, when the last attempt was over."""
    if measures.drugs_to_tube_at_s is not None:
        return measures.drugs_to_tube_at_s[1]
    ends = [one.started_at_s + one.lasted_s for one in measures.attempts if one.lasted_s]
    return max(ends, default=None)


def _before(at_s: float | None, until_s: float) -> bool:
    return at_s is not None and at_s < until_s
