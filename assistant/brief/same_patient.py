"""A case that was cut short and goes on: of whom it is, and what has to be told anew.

Who pulls the plug at the pause and plugs it in for the next patient finds the case of the one
before: nothing of that one, no weight, allergy or plan, may be taken for this one's.
"""

from collections.abc import Sequence
from typing import Final

from assistant.brief.clocks import ARREST_CLOCK, ATTEMPT_CLOCK
from assistant.brief.dose_questions import take_up_doses
from assistant.brief.doses_awaited import keep_dose_question
from assistant.brief.events.course import PatientSettled, Restarted
from assistant.brief.events.vital import VitalDoubted
from assistant.brief.going_on import ask_same_patient
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import confirm_weight_again
from assistant.brief.phases import Phase
from assistant.brief.states import State
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled

SURELY_THE_SAME_S: Final = 300.0
"""Nobody changes patients sooner than this after a case was cut short. Common practice, no
source."""
_NO_WEIGHT_ASKED = (State.HELD, State.CLOSING, State.DOUBTING, State.ATTEMPTING)
_WEIGHT_ASKED_IN = (Phase.BEFORE, Phase.INDUCTION)


def restarted(now: Moment, *, rebooted: bool, away_s: float | None) -> Steps:
    """Ask whether the patient is the same one, but after a moment only; then take the case up.

    `away_s`: for how long nobody listened; None where no clock that can be trusted tells.
    """
    known = now.case.known
    running = [name for name, clock in known.clocks.items() if clock.running]
    what = "machine" if rebooted else "program"
    yield Happened(Restarted(rebooted=rebooted), f"the {what} was started anew")
    if known.patient_in_doubt or away_s is None or away_s > SURELY_THE_SAME_S:
        yield from ask_same_patient(now)
    else:
        yield from _take_up(now, running if rebooted else ())


def same_patient(now: Moment, _: Reading) -> Steps:
    """A yes: the case goes on where it was, with what was asked back there."""
    asked_back = now.case.known.asked_back
    yield Happened(PatientSettled(same=True), "the same patient")
    if asked_back is not None:
        again = VitalDoubted(word=asked_back, heard_in=now.case.state)
        yield Happened(again, f"{asked_back.replace('_', ' ')}, once more?")
    clocks = now.case.known.clocks.items()
    yield from _take_up(now, [name for name, run in clocks if run.unknown and not run.ended])


def _take_up(now: Moment, lost: Sequence[str]) -> Steps:
    """Tell what nobody knows any more, the clocks in `lost` too, and go on where it was.

    The weight must be confirmed again before any dose, so it is read back first. But not in a hold,
    nor once somebody has looked, when all that is said is about the airway: whoever asks for a dose
    then is read the weight first.
    """
    case, known = now.case, now.case.known
    busy = known.attempt is not None or known.is_arrested
    live = now.site.wording.live
    yield Line(live.restarted_briefly if busy else live.restarted, "restarted")
    if case.unread:
        yield Line(live.record_unread, "record-unread")
    for name in lost:
        if busy and name not in (ATTEMPT_CLOCK, ARREST_CLOCK):
            continue  # whoever needs it asks
        yield Line(filled(now.says.elapsed_unknown, what=name), "elapsed")
    if case.state is State.QUOTING:
        yield from keep_dose_question(now)
    prepares = known.phase in _WEIGHT_ASKED_IN and not known.attempts
    prepares &= case.state not in _NO_WEIGHT_ASKED
    anew = any(one.figure == "weight_kg" for one in known.facts_read_back)
    wanted = prepares or bool(known.still_awaited(now.present.now_s))
    if known.weight_in_doubt and wanted and not anew:
        yield from confirm_weight_again(now)
    else:
        yield from take_up_doses(now)
