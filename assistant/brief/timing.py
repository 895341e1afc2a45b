"""Time called aloud, and drugs that are in, with their doses."""

from assistant.brief.clocks import DRUGS_CLOCK
from assistant.brief.dose_questions import found, not_here
from assistant.brief.events.asides import DoseDropped
from assistant.brief.events.course import DrugGiven, TimeCalled
from assistant.brief.going_on import count, go_on, go_on_with_drugs_in
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.states import State
from assistant.brief.summing_up import dose_in_words
from assistant.brief.unsettled import ToldDose
from assistant.dosing.drugs import Drug, Use
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line, Urgency

TOO_LATE_S = 10.0
"""A time that is over for longer, as after a restart, is not called any more."""
_ONCE_MORE_S = 20.0
"""So soon the same drug is not given again: it is said back. Common practice, no source."""
_GIVEN_ONCE = (Use.PARALYSIS, Use.INDUCTION)
_QUIET = (State.OPENED, State.ASKING, State.READY, State.ATTEMPTING, State.HELD)


def call_times(now: Moment) -> Steps:
    """Each of the site's times once; not while an answer is awaited, over which it would speak."""
    known, now_s = now.case.known, now.present.now_s
    clocks = known.clocks
    for call in now.case.brief.timed_calls:
        clock = clocks.get(call.clock)
        if (
            clock is None
            or not clock.running
            or call.after_s <= known.times_called.get(call.clock, 0)
        ):
            continue
        late_s = now_s - clock.started_s - call.after_s
        if late_s < 0 or (late_s < TOO_LATE_S and not _quiet(now)):
            continue
        called = TimeCalled(clock=call.clock, after_s=call.after_s)
        yield Happened(called, f"{call.clock}: {call.after_s} s")
        if late_s < TOO_LATE_S:
            yield Line(call.say, "time", urgency=Urgency.TIME)


def _quiet(now: Moment) -> bool:
    """Whether nothing is asked and nobody wants silence."""
    case = now.case
    asked = case.state is State.ASKING and case.current is not None
    silence = case.state is State.HELD and case.known.held_quietly
    return case.state in _QUIET and not asked and not silence


def drug_given(now: Moment, reading: Reading) -> Steps:
    """A drug is in: on record with its dose, where one was told; a relaxant starts its clock."""
    entry = found(now, reading)
    if entry is None:
        yield from not_here(now, reading)
        return
    drug, known = entry.drug, now.case.known
    if _is_said_once_more(now, drug):
        yield Line(now.filled(now.says.drug_given_plainly, drug=drug.called), "drug-given")
        yield from go_on(now)
        return
    if known.quote is not None and now.site.formulary.entry(known.quote.drug).drug is drug:
        yield Happened(DoseDropped(), f"{drug.called} is in")  # nobody waits for its dose
    told = _dose_given(now, drug)
    dose, unit = (None, None) if told is None else (told.dose, told.unit)
    given = DrugGiven(drug=drug.id, dose=dose, unit=unit)
    amount = "" if dose is None else f", {dose} {unit}"
    yield Happened(given, f"{drug.called} is in{amount}")
    if dose is None or unit is None:
        yield Line(now.filled(now.says.drug_given_plainly, drug=drug.called), "drug-given")
    else:
        words = dose_in_words(now, dose, unit)
        yield Line(now.filled(now.says.drug_given, drug=drug.called, dose=words), "drug-given")
    clock = known.clocks.get(DRUGS_CLOCK)
    relaxes = any(one.use is Use.PARALYSIS for one in drug.indications)
    if relaxes and (clock is None or not clock.running):
        yield from count(DRUGS_CLOCK)
        yield from go_on_with_drugs_in(now)
    else:
        yield from go_on(now)


def _dose_given(now: Moment, drug: Drug) -> ToldDose | None:
    """The dose that was told for it and went in now. Not one that is in already, nor the rate of an
    infusion, nor in an arrest, where it was another."""
    known = now.case.known
    told = None if known.is_arrested else known.told_dose(drug.id)
    return None if told is None or told.is_in or "/" in told.unit else told


def _is_said_once_more(now: Moment, drug: Drug) -> bool:
    """Whether somebody only says again that it is in, as in a closed loop. A pressor may be given
    twice in a minute, a relaxant or a sedative for induction is not."""
    if not any(one.use in _GIVEN_ONCE for one in drug.indications):
        return False
    before_s = [one.at_s for one in now.case.known.given if one.drug == drug.id]
    last_s = before_s[-1] if before_s else None
    return last_s is not None and now.present.now_s - last_s < _ONCE_MORE_S
