"""What is done at the words that a case turns on; those of an attempt are in `attempt`."""

from collections.abc import Callable, Mapping
from typing import Final

from assistant.brief import attempt
from assistant.brief.clocks import ARREST_CLOCK, ATTEMPT_CLOCK
from assistant.brief.events.asides import Resumed
from assistant.brief.events.course import AttemptFailed, Entered
from assistant.brief.events.vital import (
    Arrest,
    CannotOxygenate,
    DoubtSettled,
    NeckOpen,
    RescueIn,
    RescueStarted,
)
from assistant.brief.going_on import (
    ask_on,
    count,
    enter,
    go_on,
    go_on_with_what_opened,
    leave_patient_open,
    say_since,
    stop_counting,
    tell,
)
from assistant.brief.handover import worse
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import RETURNING, Phase
from assistant.brief.states import STATES, State
from assistant.brief.unsettled import NO_WAVE
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def cannot_oxygenate(now: Moment, _: Reading) -> Steps:
    """No oxygen gets in from above: the neck, at once."""
    yield from _attempt_is_over(now)
    known = now.case.known
    is_new = known.phase is not Phase.FRONT_OF_NECK or not known.no_oxygen
    if is_new:
        yield Happened(CannotOxygenate(), "no oxygen gets in from above")
    yield Line(now.site.wording.vital.cannot_oxygenate, "cannot-oxygenate")
    named = now.site.brief.attempts.neck_taken_by
    who = None if named is None else now.case.known.items[named].answer
    if named is not None and who is not None:
        task = now.case.item(named).label
        yield Line(filled(now.says.who, task=task, who=who), "who")
    if is_new and known.phase is Phase.FRONT_OF_NECK:  # no wave has led there before
        yield from ask_on(now)
    else:
        yield from _enter(now, Phase.FRONT_OF_NECK)


def cannot_ventilate(now: Moment, reading: Reading) -> Steps:
    """No breath gets in. In a rescue the same as no oxygen; with a tube in, or before anybody has
    looked, other things come first; after an attempt the supraglottic airway does."""
    known = now.case.known
    if known.phase in (Phase.AFTER, Phase.NECK_OPEN) and known.attempt is None:
        yield from worse(now, reading)
    elif known.phase not in (*RETURNING, Phase.WAKE_UP):
        yield from cannot_oxygenate(now, reading)
    elif known.attempts or known.phase is Phase.WAKE_UP:
        yield from rescue_start(now, reading)
    else:
        yield from tell(now, Line(now.site.wording.vital.cannot_ventilate, "cannot-ventilate"))


def rescue_in(now: Moment, _: Reading) -> Steps:
    """The supraglottic airway is in."""
    happened = Happened(RescueIn(), "the supraglottic airway is in")
    line = Line(now.site.wording.vital.rescue_in, "rescue-in")
    yield from _airway_in(now, Phase.SUPRAGLOTTIC_IN, happened, line)


def neck_open(now: Moment, _: Reading) -> Steps:
    """A tube is in through the front of the neck."""
    happened = Happened(NeckOpen(), "a tube is in through the front of the neck")
    line = Line(now.site.wording.vital.neck_open, "neck-open")
    yield from _airway_in(now, Phase.NECK_OPEN, happened, line)


def tube_in(now: Moment, reading: Reading) -> Steps:
    """The tube is in: through the neck, where that is being opened."""
    known = now.case.known
    at_the_neck = known.phase in (Phase.FRONT_OF_NECK, Phase.NECK_OPEN) and known.attempt is None
    yield from neck_open(now, reading) if at_the_neck else attempt.tube_in(now, reading)


def _airway_in(now: Moment, phase: Phase, happened: Happened, line: Line) -> Steps:
    """A rescue airway is in, and its items are asked; said once more it counts once."""
    yield from _attempt_is_over(now)
    if now.case.known.phase is not phase:
        yield happened
    yield line
    yield from _enter(now, phase)


def rescue_start(now: Moment, _: Reading) -> Steps:
    """Somebody decides for the supraglottic airway."""
    yield from _attempt_is_over(now)
    if now.case.known.phase is not Phase.SUPRAGLOTTIC:
        yield Happened(RescueStarted(), "for the supraglottic airway")
    yield Line(now.site.brief.attempts.supraglottic, "rescue-start")
    yield from _enter(now, Phase.SUPRAGLOTTIC)


def wake_up(now: Moment, _: Reading) -> Steps:
    """Somebody decides that the patient is to wake up: what was asked back before that is open no
    more, and an attempt that runs is over. In the silence of an arrest it is about nobody."""
    if now.case.known.is_arrested and now.case.state is State.HELD:
        return
    if now.case.state is State.DOUBTING:
        yield Happened(DoubtSettled(confirmed=False), "another word came")
        if now.case.known.attempt is not None:
            yield from _attempt_is_over(now)
        if Entered.name not in STATES[now.case.state].leads:  # whose case it is comes first
            yield from go_on(now)
            return
    yield Line(now.site.brief.attempts.wake_up, "wake-up")
    yield from _enter(now, Phase.WAKE_UP)


def _enter(now: Moment, phase: Phase) -> Steps:
    """Ask what a rescue asks; said once more, it goes on where it was."""
    if now.case.known.phase is phase:
        yield from go_on(now)
    else:
        yield from enter(now, phase)


def _attempt_is_over(now: Moment) -> Steps:
    """A rescue ends the attempt that runs; no tube is in then."""
    number = len(now.case.known.attempts)
    if now.case.known.attempt is not None:
        yield Happened(AttemptFailed(), f"attempt {number} has failed")
        yield from stop_counting(now, ATTEMPT_CLOCK)
    yield from attempt.airway_is_out(now)


def arrest(now: Moment, _: Reading) -> Steps:
    """The heart has stopped: its clock counts, and nothing is asked until somebody says go on."""
    clock = now.case.known.clocks.get(ARREST_CLOCK)
    says = now.site.wording.vital
    if clock is not None and clock.running:
        time = say_since(now, clock.started_s)
        yield Line(filled(says.arrest_runs, time=time), "arrest")
        return
    yield Happened(Arrest(), "cardiac arrest")
    yield from count(ARREST_CLOCK)
    yield Line(says.arrest, "arrest")


def pulse_back(now: Moment, _: Reading) -> Steps:
    """The heart beats again: the arrest is timed no longer, and the brief goes on."""
    says, arrested = now.site.wording.vital, now.case.known.is_arrested
    if arrested:
        clock = now.case.known.clocks[ARREST_CLOCK]
        time = "" if clock.unknown else say_since(now, clock.started_s)
        yield from stop_counting(now, ARREST_CLOCK)
        text = filled(says.pulse_back, time=time) if time else says.pulse_back_some_time
        yield Line(text, "pulse-back")
    if arrested and now.case.state is State.HELD and now.case.known.held_quietly:
        yield Happened(Resumed(), "resumed with the pulse")
        yield from go_on_with_what_opened(now)
    elif now.case.state is not State.HELD:
        yield from go_on(now)


def wave_lost(now: Moment, reading: Reading) -> Steps:
    """No carbon dioxide comes out any more: what is in is to come out; and with nothing in, it is
    about a machine that is being tested."""
    known = now.case.known
    waves = attempt.waves_of(now, known.phase)
    if known.attempt is not None:  # of a tube that nobody has said to be in
        for wave in attempt.waves_of(now, Phase.AFTER)[:1]:
            yield Line(wave.no_wave, "no-wave", wave.id)
        yield from attempt.tube_out(now, reading)
    elif known.airway_is_in and not waves:
        yield from attempt.tube_out(now, reading)
    elif known.airway_is_in:
        yield from attempt.no_wave(now, waves[0])
    else:
        yield from go_on(now)


def wave_denied(now: Moment, _: Reading) -> Steps:
    """There is none: of the item that is asked, or that was when it was asked back."""
    item, doubt = now.case.current, now.case.known.doubt
    if doubt is not None:
        again = doubt.word == NO_WAVE
        why = "said once more" if again else "another word came"
        yield Happened(DoubtSettled(confirmed=again), why)
    yield from leave_patient_open(now)
    if item is not None:
        yield from attempt.no_wave(now, item)


VITAL_ACTS: Final[Mapping[str, Callable[[Moment, Reading], Steps]]] = {
    "attempt_start": attempt.attempt_start,
    "attempt_failed": attempt.attempt_failed,
    "tube_in": tube_in,
    "tube_past_cords": attempt.tube_in,
    "tube_out": attempt.tube_out,
    "wave_lost": wave_lost,
    "drugs_in": attempt.drugs_in,
    "cannot_oxygenate": cannot_oxygenate,
    "cannot_ventilate": cannot_ventilate,
    "rescue_start": rescue_start,
    "rescue_in": rescue_in,
    "neck_open": neck_open,
    "arrest": arrest,
    NO_WAVE: wave_denied,
    "look_by_mouth": attempt.attempt_start,
    "another_failed": attempt.another_failed,
    "rescue_out": attempt.tube_out,
}
"""What is done at each word, and at what is asked back like one."""
