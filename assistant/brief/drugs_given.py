"""Drugs that are in, with their doses."""

from assistant.brief.clocks import DRUGS_CLOCK
from assistant.brief.dose_questions import found, not_here
from assistant.brief.events.asides import DoseDropped
from assistant.brief.events.course import DrugGiven
from assistant.brief.events.vital import DoubtSettled
from assistant.brief.going_on import count, go_on, go_on_with_drugs_in, tell
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.states import State
from assistant.brief.summing_up import dose_as_written, dose_in_words
from assistant.brief.told_doses import barred_and_in
from assistant.brief.unsettled import ToldDose
from assistant.dosing.drugs import Drug, Use
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled

_ONCE_MORE_S = {Use.PARALYSIS: 60.0, Use.INDUCTION: 20.0}
"""So soon such a drug is not given again: it is said back. Common practice, no source."""


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
    amount = "" if dose is None or unit is None else f", {dose_as_written(dose, unit)}"
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
