"""The attempt: its clock, its failure and its end; and the bag between attempts."""

from assistant.brief.going_on import ask_next, count, go_on, stop_counting
from assistant.brief.situation import Desk, Happening, Steps
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line

ATTEMPT_CLOCK = "attempt"
DRUGS_CLOCK = "drugs in"


def attempt_start(desk: Desk, _: Reading) -> Steps:
    yield Happening("attempt-started", f"attempt {desk.case.known.attempts + 1} begins")
    yield from count(ATTEMPT_CLOCK)
    number = desk.say(desk.case.known.attempts)
    yield Line(desk.filled(desk.says.attempt_started, number=number), "attempt-started")


def attempt_failed(desk: Desk, _: Reading) -> Steps:
    number = desk.case.known.attempts
    plans = desk.site.brief.attempts.after_failure
    yield Happening("attempt-failed", f"attempt {number} has failed")
    yield from stop_counting(ATTEMPT_CLOCK)
    plan = plans[min(number, len(plans)) - 1]
    yield Line(desk.filled(desk.says.attempt_failed, plan=plan), "attempt-failed")


def tube_in(desk: Desk, _: Reading) -> Steps:
    yield Happening("tube-in", f"tube in at attempt {desk.case.known.attempts}")
    yield from stop_counting(ATTEMPT_CLOCK)
    yield Line(desk.says.tube_in, "tube-in")
    yield from ask_next(desk)


def drugs_in(desk: Desk, _: Reading) -> Steps:
    yield from count(DRUGS_CLOCK)
    yield Line(desk.says.drugs_in, "drugs-in")


def pace(desk: Desk, _: Reading) -> Steps:
    """A tick for each breath of the bag, until somebody stops it or an attempt begins."""
    every = desk.site.wording.timing.breath_every_s
    yield Happening("pacing-started", f"pacing the bag, one breath every {every:g} s")
    yield Line(desk.says.pacing, "pacing")
    yield from go_on(desk)


def pace_stop(desk: Desk, _: Reading) -> Steps:
    yield Happening("pacing-stopped", "pacing stopped")
    yield Line(desk.says.pacing_stopped, "pacing")
    yield from go_on(desk)
