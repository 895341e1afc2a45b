"""The end of a case: asked back, and then ended or not."""

from assistant.brief.events.asides import Closing, Ended, Held, KeptOpen
from assistant.brief.going_on import go_on, leave_patient_open
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.states import State
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line


def end_case(now: Moment, _: Reading) -> Steps:
    """Ask whether the case is over."""
    yield from leave_patient_open(now)
    if now.case.state is State.CLOSING:  # it was asked when the case was cut short
        yield from go_on(now)
        return
    silent = now.case.state is State.HELD and now.case.known.held_quietly
    yield Happened(Closing(in_silence=silent), "asked back whether to end the case")
    yield from go_on(now)


def close_case(now: Moment, _: Reading) -> Steps:
    """A yes to whether the case is over. Where nobody has said that it is still the same patient,
    it is another one, and whoever has the sound opens a new case."""
    another = now.case.known.patient_in_doubt
    text = "another patient: the case is ended" if another else "the case is ended"
    yield Happened(Ended(another_patient=another), text)
    yield Line(now.says.ended, "ended")


def keep_case_open(now: Moment, _: Reading) -> Steps:
    """A no to it."""
    silent = now.case.known.closed_in_silence
    yield Happened(KeptOpen(), "the case goes on")
    yield Line(now.says.kept_open, "kept-open")
    if silent:  # an arrest is not over by it
        yield Happened(Held(quiet=True), "silent as before")
        return
    yield from go_on(now)


def new_case(now: Moment, reading: Reading) -> Steps:
    """Somebody opens a case while one is open: whether that one is over is asked; where it is asked
    whose it is, that is told by it."""
    if now.case.state is State.IDENTIFYING:
        yield from close_case(now, reading)
    else:
        yield from end_case(now, reading)
