"""The attempt: its clock, its failure and its end; and the bag between attempts.

People say these words when they matter, not where a script has them: an attempt that nobody
declared may fail or succeed all the same, and what is said twice counts once.
"""

from assistant.brief.brief import Phase
from assistant.brief.events.course import (
    AttemptFailed,
    AttemptStarted,
    PacingStarted,
    PacingStopped,
    TubeIn,
)
from assistant.brief.events.vital import TubeOut
from assistant.brief.going_on import ask_on, count, go_on, say_elapsed, stop_counting
from assistant.brief.known import ATTEMPT_CLOCK, DRUGS_CLOCK
from assistant.brief.moment import Happened, Moment, Steps
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line


def attempt_start(now: Moment, _: Reading) -> Steps:
    """An attempt begins, with its clock; whoever looks again has no tube in."""
    known = now.case.known
    if known.attempt is not None:
        yield from _attempt_runs(now)
        return
    if known.phase is Phase.AFTER:
        yield Happened(TubeOut(), f"the tube of attempt {len(known.attempts)} is out")
    yield Happened(AttemptStarted(), f"attempt {len(known.attempts) + 1} begins")
    yield from count(ATTEMPT_CLOCK)
    number = now.say(len(known.attempts))
    yield Line(now.filled(now.says.attempt_started, number=number), "attempt-started")


def _attempt_runs(now: Moment) -> Steps:
    """It was said to begin already: tell how long it has run, and count no second one."""
    number, clock = now.say(len(now.case.known.attempts)), now.case.known.clocks.get(ATTEMPT_CLOCK)
    if clock is None or clock.unknown:
        yield Line(now.filled(now.says.attempt_started, number=number), "attempt-runs")
    else:
        time = say_elapsed(now.present.now_s - clock.started_s, now.tongue)
        text = now.filled(now.site.wording.vital.attempt_runs, number=number, time=time)
        yield Line(text, "attempt-runs")
    yield from go_on(now)


def attempt_failed(now: Moment, reading: Reading) -> Steps:
    """It has failed: say the plan that was agreed for that."""
    known = now.case.known
    if known.phase is Phase.AFTER:
        yield from tube_out(now, reading)
        return
    if known.attempt is not None or not known.attempts:
        yield Happened(AttemptFailed(), f"attempt {max(1, len(known.attempts))} has failed")
        yield from stop_counting(now, ATTEMPT_CLOCK)
    yield from say_plan(now)


def tube_out(now: Moment, reading: Reading) -> Steps:
    """The tube is out: its attempt has failed, and a next one may begin at once."""
    known = now.case.known
    if known.phase is not Phase.AFTER:
        yield from attempt_failed(now, reading)
        return
    yield Happened(TubeOut(), f"the tube of attempt {len(known.attempts)} is out")
    yield Line(now.site.wording.vital.tube_out, "tube-out")
    yield from say_plan(now)


def say_plan(now: Moment) -> Steps:
    """What was agreed for so many failed attempts; then what was broken off."""
    plans = now.site.brief.attempts.after_failure
    plan = plans[min(len(now.case.known.attempts), len(plans)) - 1]
    yield Line(now.filled(now.says.attempt_failed, plan=plan), "attempt-failed")
    yield from go_on(now)


def tube_in(now: Moment, _: Reading) -> Steps:
    """The tube is in: the items after it are asked."""
    if now.case.known.phase is Phase.AFTER:  # said once more
        yield from go_on(now)
        return
    number = max(1, len(now.case.known.attempts) + (now.case.known.attempt is None))
    yield Happened(TubeIn(), f"tube in at attempt {number}")
    yield from stop_counting(now, ATTEMPT_CLOCK)
    yield Line(now.says.tube_in, "tube-in")
    yield from ask_on(now)


def drugs_in(now: Moment, _: Reading) -> Steps:
    """The drugs are in: their clock counts; said once more, it tells how long."""
    clock = now.case.known.clocks.get(DRUGS_CLOCK)
    if clock is not None and clock.running:
        time = say_elapsed(now.present.now_s - clock.started_s, now.tongue)
        what = now.tongue.terms.drugs_clock
        yield Line(now.filled(now.says.elapsed, what=what, time=time), "elapsed")
    else:
        yield from count(DRUGS_CLOCK)
        yield Line(now.says.drugs_in, "drugs-in")
    yield from go_on(now)


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
