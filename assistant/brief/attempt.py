"""The attempt: its clock, its failure and its end; and the bag between attempts.

People say these words when they matter, not where a script has them: an attempt that nobody
declared may fail or succeed all the same, and what is said twice counts once.
"""

from assistant.brief.agenda import leaves_breathing
from assistant.brief.brief import FailedStep
from assistant.brief.clocks import ATTEMPT_CLOCK, DRUGS_CLOCK
from assistant.brief.confirmed_items import WaveItem
from assistant.brief.events.course import (
    AttemptFailed,
    AttemptStarted,
    PacingStarted,
    PacingStopped,
    TubeIn,
)
from assistant.brief.events.vital import TubeOut
from assistant.brief.going_on import (
    ask_on,
    count,
    enter,
    go_on,
    go_on_with_drugs_in,
    say_since,
    stop_counting,
    tell,
)
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.known import Known
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import AIRWAY_IN, RETURNING, Phase
from assistant.brief.seen import low_saturation
from assistant.brief.states import State
from assistant.brief.summing_up import leave_pause, tell_gaps
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled
from assistant.speaking.wording import Timing

SAID_AGAIN_WITHIN_S = 30.0
"""So soon after a failure its words are about that one; later, about a look that nobody declared.
Common practice, no source."""


def attempt_start(now: Moment, _: Reading) -> Steps:
    """An attempt begins, with its clock; whoever looks again has no tube in."""
    known, plan = now.case.known, now.site.brief.attempts
    if known.attempt is not None:
        yield from _attempt_runs(now)
        return
    yield from airway_is_out(now)
    number = len(known.attempts) + 1
    beyond = number > plan.at_most
    what = f"attempt {number} begins{', beyond those agreed' if beyond else ''}"
    yield Happened(AttemptStarted(beyond=beyond), what)
    yield from count(ATTEMPT_CLOCK)
    said = plan.beyond if beyond else now.says.attempt_started
    text = filled(said, number=now.say(number), limit=now.say(plan.at_most))
    yield Line(text, "attempt-started")
    percent = low_saturation(now)
    if percent is not None:
        text = filled(now.site.wording.pause.saturation, percent=now.say(percent))
        yield Line(text, "low-saturation")
    yield from tell_gaps(now)


def airway_is_out(now: Moment) -> Steps:
    """When something else is begun, no tube is in any more."""
    known = now.case.known
    if known.phase is Phase.AFTER:
        yield Happened(TubeOut(), f"the tube of attempt {len(known.attempts)} is out")


def _attempt_runs(now: Moment) -> Steps:
    """It was said to begin already: tell how long it has run, and count no second one."""
    number, clock = now.say(len(now.case.known.attempts)), now.case.known.clocks.get(ATTEMPT_CLOCK)
    if clock is None or clock.unknown:
        yield Line(filled(now.says.attempt_started, number=number), "attempt-runs")
    else:
        time = say_since(now, clock.started_s)
        text = filled(now.site.wording.vital.attempt_runs, number=number, time=time)
        yield Line(text, "attempt-runs")
    yield from go_on(now)


def attempt_failed(now: Moment, reading: Reading) -> Steps:
    """It has failed: say the plan that was agreed for that, and ask what it asks."""
    known = now.case.known
    if known.airway_is_in:
        yield from tube_out(now, reading)
        return
    undeclared = not known.attempts and known.phase in RETURNING
    if known.attempt is not None or undeclared:
        yield Happened(AttemptFailed(), f"attempt {max(1, len(known.attempts))} has failed")
        yield from stop_counting(now, ATTEMPT_CLOCK)
        yield from follow_plan(now)
        return
    if known.phase in RETURNING:  # said once more; else a rescue is under way
        yield Line(_step(now).say, "attempt-failed")
    yield from go_on(now)


def another_failed(now: Moment, _: Reading) -> Steps:
    """One more has failed that nobody had said to begin."""
    number = len(now.case.known.attempts) + 1
    yield Happened(AttemptFailed(), f"attempt {number} has failed")
    yield from follow_plan(now)


def tube_out(now: Moment, reading: Reading) -> Steps:
    """It is out: the attempt has failed, and a next one may begin at once."""
    phase, airway = now.case.known.phase, now.case.known.airway
    if now.case.known.attempt is not None:  # past a rescue airway that is in, too
        yield from attempt_failed(now, reading)
        return
    if phase is Phase.BEFORE and not now.case.known.has_begun:  # it was in before, or is another
        yield from tell(now, Line(now.site.wording.vital.tube_out, "tube-out"))
        return
    if phase is Phase.WAKE_UP and airway is not None:
        yield Happened(TubeOut(), "it is out, and the patient wakes up")
        yield from ask_on(now)
        return
    if phase not in AIRWAY_IN:
        yield from attempt_failed(now, reading)
        return
    yield Happened(TubeOut(), "it is out")
    yield Line(now.site.wording.vital.tube_out, "tube-out")
    yield from _after_it_came_out(now, phase)


def no_wave(now: Moment, item: AnyItem) -> Steps:
    """No carbon dioxide: out with it, in the site's words; its attempt has failed."""
    phase = now.case.known.phase
    yield Happened(TubeOut(), f"{item.label}: none, so it is out", item.id)
    if isinstance(item, WaveItem):
        yield Line(item.no_wave, "no-wave", item.id)
    yield from _after_it_came_out(now, phase)


def waves_of(now: Moment, phase: Phase) -> list[WaveItem]:
    """The items of that phase that ask for a wave of carbon dioxide."""
    return [one for one in now.case.brief.items_of(phase) if isinstance(one, WaveItem)]


def _after_it_came_out(now: Moment, phase: Phase) -> Steps:
    """A tube leads to the plan for its attempt; a rescue airway that failed leads to the neck."""
    if phase is Phase.AFTER:
        proven = [now.case.standing(one) is Standing.DONE for one in waves_of(now, phase)]
        yield from follow_plan(now, tube_lost=any(proven))
    else:
        yield from enter(now, Phase.FRONT_OF_NECK)


def follow_plan(now: Moment, *, tube_lost: bool = False) -> Steps:
    """What was agreed for so many failed attempts, and what it asks; `tube_lost`: the last one had
    not failed, but its tube has come out since."""
    step = _step(now)
    say = (leaves_breathing(now.case) and step.say_breathing) or step.say
    say = (tube_lost and step.say_tube_lost) or say
    yield Line(filled(now.says.attempt_failed, plan=say), "attempt-failed")
    yield from enter(now, Phase(step.then))


def _step(now: Moment) -> FailedStep:
    steps = now.site.brief.attempts.after_failure
    return steps[min(len(now.case.known.attempts), len(steps)) - 1]


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
        time = say_since(now, clock.started_s)
        what = now.tongue.terms.drugs_clock
        yield Line(filled(now.says.elapsed, what=what, time=time), "elapsed")
    else:
        if now.case.state is State.PAUSING:
            yield from leave_pause()
        yield from count(DRUGS_CLOCK)
        yield Line(now.says.drugs_in, "drugs-in")
        yield from tell_gaps(now)
    yield from go_on_with_drugs_in(now)


def pace(now: Moment, _: Reading) -> Steps:
    """A tick for each breath of the bag, until somebody stops it or an attempt begins."""
    yield from begin_pacing(now)
    yield from go_on(now)


def begin_pacing(now: Moment) -> Steps:
    """At the site's rate for this patient; it is said where it is not the usual one."""
    timing = now.site.wording.timing
    every_s = breath_every_s(timing, now.case.known)
    yield Happened(PacingStarted(), f"pacing the bag, one breath every {every_s:g} s")
    text = now.says.pacing
    if every_s != timing.breath_every_s:
        seconds = now.tongue.say_quantity(round(every_s), "second")
        text = filled(now.says.pacing_every, seconds=seconds)
    yield Line(text, "pacing")


def breath_every_s(timing: Timing, known: Known) -> float:
    """Seconds from one breath to the next for this patient.

    Where air gets out slowly the lungs must empty, and that goes before the acid.
    """
    if known.obstruction:
        return timing.breath_every_obstruction_s
    return timing.breath_every_acidosis_s if known.acidosis else timing.breath_every_s


def pace_stop(now: Moment, _: Reading) -> Steps:
    """The ticking stops."""
    yield Happened(PacingStopped(), "pacing stopped")
    yield from tell(now, Line(now.says.pacing_stopped, "pacing"))
