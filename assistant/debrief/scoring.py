"""What a scenario expected of the team, scored against the record of a case."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from assistant.debrief.moments import Moments
from assistant.debrief.scenario import ExpectedAction, SimulationScenario

Outcome = Literal["in time", "late", "never", "not applicable"]


@dataclass(frozen=True, slots=True)
class Scored:
    """One expected action, once for each time that it was due. Times in s from the beginning."""

    action: str
    after: str
    """What it was to follow, in words."""
    within_s: float
    due_at_s: float | None
    """When its time began; None when what it was to follow never came."""
    outcome: Outcome
    took_s: float | None = None
    """From then until it was done; None when it was not, or nobody knows."""
    why: str = ""
    """Of what is not applicable."""

    @property
    def told(self) -> str:
        """What became of it, for people: the record cannot tell that nobody did it."""
        return "not on record" if self.outcome == "never" else self.outcome

    @property
    def applies(self) -> bool:
        """Whether it was due, and can be judged."""
        return self.outcome != "not applicable"


def score(scenario: SimulationScenario, moments: Moments, until_s: float) -> tuple[Scored, ...]:
    """Each expected action of a case that is on record until then, in s from its beginning."""
    return tuple(
        scored for one in scenario.expected for scored in _each_time(one, moments, until_s)
    )


def _each_time(one: ExpectedAction, moments: Moments, until_s: float) -> Iterator[Scored]:
    after, due = moments.told(one.after), moments.times(one.after)
    done, reboots_s = moments.times(one.done), moments.reboots()
    if not due:
        why = "what it was to follow is not on record"
        yield Scored(one.action, after, one.within_s, None, "not applicable", why=why)
    for due_s in due if one.every_time else due[:1]:
        done_s = next((at_s for at_s in done if at_s >= due_s), None)
        outcome, took_s, why = _judged(due_s, done_s, one.within_s, reboots_s, until_s)
        yield Scored(one.action, after, one.within_s, due_s, outcome, took_s, why)


def _judged(
    due_s: float, done_s: float | None, within_s: float, reboots_s: Sequence[float], until_s: float
) -> tuple[Outcome, float | None, str]:
    """What became of it, how long it took, and why it is not applicable."""
    seen_s = until_s if done_s is None else done_s
    rebooted_s = next((at_s for at_s in reboots_s if due_s < at_s <= seen_s), None)
    if rebooted_s is not None and rebooted_s <= due_s + within_s:
        return "not applicable", None, "the machine was started anew meanwhile"
    if done_s is not None:
        took_s = round(done_s - due_s, 2)
        in_time = took_s <= within_s and rebooted_s is None
        return "in time" if in_time else "late", None if rebooted_s else took_s, ""
    if until_s < due_s + within_s:
        return "not applicable", None, "the record ends before its time was up"
    return "never", None, ""
