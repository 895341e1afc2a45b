"""Time called aloud, and drugs that are in, with their doses."""

from collections.abc import Sequence

from assistant.brief.brief import TimedCall
from assistant.brief.brief_questions import clock_names
from assistant.brief.clocks import DRUGS_CLOCK, CaseClock
from assistant.brief.confirmed_items import TimedItem
from assistant.brief.dose_questions import found, not_here
from assistant.brief.events.asides import DoseDropped
from assistant.brief.events.course import DrugGiven, TimeCalled
from assistant.brief.events.vital import DoubtSettled
from assistant.brief.going_on import count, go_on, go_on_with_drugs_in, say_since, tell
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import Phase
from assistant.brief.prompts import say_time
from assistant.brief.states import State
from assistant.brief.summing_up import dose_in_words
from assistant.brief.told_doses import barred_and_in
from assistant.brief.unsettled import ToldDose
from assistant.dosing.drugs import Drug, Use
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.sentences import filled

ON_TIME_S = 3.0
"""Until then the site's own words are true enough; later the clock's own time is said."""
TOO_LATE_S = 30.0
"""A time that could not be called for so long, as after a restart, is not called any more."""
_TURN_S = 8.0
"""So long after a turn of the case its first question is asked and answered before any time."""
_SAID_WITHIN_S = 5.0
"""A watcher's call may come first; what is said later than that is not true any more."""
_ONCE_MORE_S = {Use.PARALYSIS: 60.0, Use.INDUCTION: 20.0}
"""So soon such a drug is not given again: it is said back. Common practice, no source."""
_QUIET = (State.OPENED, State.ASKING, State.READY, State.ATTEMPTING, State.HELD)


def call_times(now: Moment, *, unasked: bool) -> Steps:
    """Each of the site's times once, as soon as nothing is in its way.

    Not while an answer is awaited, unless it is `unasked` just now; and not where somebody wants
    silence, or a vital word is asked back, or whose case it is. What has waited for too long, or is
    outrun by its clock's next time, is passed over.
    """
    in_its_way = not (unasked or _nothing_asked(now)) or _comes_first(now)
    calls = now.case.brief.timed_calls
    for call in calls:
        clock = _due(now, call)
        if clock is None:
            continue
        later = (one for one in calls if one.clock == call.clock and one.after_s > call.after_s)
        outrun = any(_due(now, one) for one in later)
        late_s = now.present.now_s - clock.started_s - call.after_s
        what = f"{call.clock}: {call.after_s} s"
        if outrun or late_s >= TOO_LATE_S:
            called = TimeCalled(clock=call.clock, after_s=call.after_s, said=False)
            yield Happened(called, f"{what}, passed over")
        elif not in_its_way:
            yield Happened(TimeCalled(clock=call.clock, after_s=call.after_s), what)
            text = call.say if late_s <= ON_TIME_S else _time_of(now, call.clock, clock)
            until_s = now.present.now_s + _SAID_WITHIN_S
            yield Line(text, "time", urgency=Urgency.TIME, until_s=until_s)


def clock_ended(now: Moment, due: Sequence[AnyItem]) -> Steps:
    """While nothing is asked, that the time is up is told and not asked after."""
    for item in due:
        clock = now.case.known.clocks.get(item.clock) if isinstance(item, TimedItem) else None
        if clock is not None and clock.lasts_s is not None:
            time = say_time(round(clock.lasts_s), now.tongue)
            text = filled(now.says.elapsed, what=clock.name, time=time)
            yield Line(text, "elapsed", urgency=Urgency.TIME)


def _due(now: Moment, call: TimedCall) -> CaseClock | None:
    """Its clock, where that has run for so long and the call is still to be made."""
    clock = now.case.known.clocks.get(call.clock)
    if clock is None or not clock.running:
        return None
    called = call.after_s <= now.case.known.times_called.get(call.clock, 0)
    over = now.present.now_s - clock.started_s >= call.after_s
    return clock if over and not called else None


def _time_of(now: Moment, name: str, clock: CaseClock) -> str:
    time = say_since(now, clock.started_s)
    return filled(now.says.elapsed, what=clock_names(now).get(name, name), time=time)


def _nothing_asked(now: Moment) -> bool:
    asked = now.case.state is State.ASKING and now.case.current is not None
    return now.case.state in _QUIET and not asked


def _comes_first(now: Moment) -> bool:
    quiet = now.case.state is State.HELD and now.case.known.held_quietly
    asked_back = now.case.state in (State.DOUBTING, State.IDENTIFYING)
    return quiet or asked_back or _has_just_turned(now)


def _has_just_turned(now: Moment) -> bool:
    """Whether the first question after a turn of the case stands: the wave, once a tube is in."""
    case, item, known = now.case, now.case.current, now.case.known
    if item is None or case.state is not State.ASKING or known.phase is Phase.BEFORE:
        return False
    asked = [one for one in known.trail if case.is_of_this_phase(one)]
    soon = known.asked_s is not None and now.present.now_s - known.asked_s < _TURN_S
    return soon and not any(one != item.id for one in asked)


def drug_given(now: Moment, reading: Reading) -> Steps:
    """A drug is in: on record with its dose, where one was told; a relaxant starts its clock. If an
    allergy bars it, that is said at once."""
    named = str(reading.values["drug"])
    entry = found(now, named)
    if entry is None:
        yield from not_here(now, named)
        return
    drug, known = entry.drug, now.case.known
    if _is_said_once_more(now, drug):
        text = filled(now.says.drug_given_plainly, drug=drug.called)
        yield from tell(now, Line(text, "drug-given"))
        return
    if now.case.state is State.QUOTING and _is_quoted(now, drug):
        yield Happened(DoseDropped(), f"{drug.called} is in")  # nobody waits for its dose
    told = _dose_given(now, drug)
    dose, unit = (None, None) if told is None else (told.dose, told.unit)
    given = DrugGiven(drug=drug.id, dose=dose, unit=unit)
    amount = "" if dose is None else f", {dose} {unit}"
    yield Happened(given, f"{drug.called} is in{amount}")
    if dose is None or unit is None:
        yield Line(filled(now.says.drug_given_plainly, drug=drug.called), "drug-given")
    else:
        words = dose_in_words(now, dose, unit)
        yield Line(filled(now.says.drug_given, drug=drug.called, dose=words), "drug-given")
    yield from barred_and_in(now, drug.id, known.allergies)
    clock, doubt = known.clocks.get(DRUGS_CLOCK), known.doubt
    relaxes = any(one.use is Use.PARALYSIS for one in drug.indications)
    if relaxes and doubt is not None and doubt.word == "drugs_in":
        yield Happened(DoubtSettled(confirmed=True), f"{drug.called} is")
    if relaxes and (clock is None or not clock.running):
        yield from count(DRUGS_CLOCK)
        yield from go_on_with_drugs_in(now)
    else:
        yield from go_on(now)


def _is_quoted(now: Moment, drug: Drug) -> bool:
    quote = now.case.known.quote
    return quote is not None and now.site.formulary.entry(quote.drug).drug is drug


def _dose_given(now: Moment, drug: Drug) -> ToldDose | None:
    """The dose that was told for it and went in now. Not one that is in already, nor the rate of an
    infusion, nor in an arrest, where it was another."""
    known = now.case.known
    told = None if known.is_arrested else known.told_dose(drug.id)
    return None if told is None or told.is_in or "/" in told.unit else told


def _is_said_once_more(now: Moment, drug: Drug) -> bool:
    """Whether somebody only says again that it is in, as in a closed loop. A pressor may be given
    twice in a minute, a relaxant or a sedative for induction is not."""
    within_s = max((_ONCE_MORE_S.get(one.use, 0.0) for one in drug.indications), default=0.0)
    before_s = [one.at_s for one in now.case.known.given if one.drug == drug.id]
    last_s = before_s[-1] if before_s else None
    return last_s is not None and now.present.now_s - last_s < within_s
