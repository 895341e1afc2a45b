"""The attempt: its clock, its failure and its end; and the bag between attempts."""

from assistant.brief.events.course import (
    AttemptFailed,
    AttemptStarted,
    PacingStarted,
    PacingStopped,
    TubeIn,
)
from assistant.brief.going_on import ask_next, count, go_on, stop_counting
from assistant.brief.known import ATTEMPT_CLOCK, DRUGS_CLOCK
from assistant.brief.moment import Happened, Moment, Steps
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line


def attempt_start(now: Moment, _: Reading) -> Steps:
    """An attempt begins, with its clock."""
    yield Happened(AttemptStarted(), f"attempt {len(now.case.known.attempts) + 1} begins")
    yield from count(ATTEMPT_CLOCK)
    number = now.say(len(now.case.known.attempts))
    yield Line(now.filled(now.says.attempt_started, number=number), "attempt-started")


def attempt_failed(now: Moment, _: Reading) -> Steps:
    """It has failed: say the plan that was agreed for that."""
    number = len(now.case.known.attempts)
    plans = now.site.brief.attempts.after_failure
    yield Happened(AttemptFailed(), f"attempt {number} has failed")
    yield from stop_counting(ATTEMPT_CLOCK)
    plan = plans[min(number, len(plans)) - 1]
    yield Line(now.filled(now.says.attempt_failed, plan=plan), "attempt-failed")


def tube_in(now: Moment, _: Reading) -> Steps:
    """The tube is in: the items after it are asked."""
    yield Happened(TubeIn(), f"tube in at attempt {len(now.case.known.attempts)}")
    yield from stop_counting(ATTEMPT_CLOCK)
    yield Line(now.says.tube_in, "tube-in")
    yield from ask_next(now)


def drugs_in(now: Moment, _: Reading) -> Steps:
    """The drugs are in: their clock counts."""
    yield from count(DRUGS_CLOCK)
    yield Line(now.says.drugs_in, "drugs-in")


def pace(now: Moment, _: Reading) -> Steps:
    """A tick for each breath of the bag, until somebody stops it or an attempt begins."""
    every = now.site.wording.timing.breath_every_s
    yield Happened(PacingStarted(), f"pacing the bag, one breath every {every:g} s")
    yield Line(now.says.pacing, "pacing")
    yield from go_on(now)


def pace_stop(now: Moment, _: Reading) -> Steps:
    """No more ticks."""
    yield Happened(PacingStopped(), "pacing stopped")
    yield Line(now.says.pacing_stopped, "pacing")
    yield from go_on(now)
