"""Dose questions: no dose for a weight that was not read back, or before what bars it is excluded.

With the patient's confirmed weight the answer comes at once and names the drug first; a drug whose
name sounds like another's is read back even so. A weight in the question is a what-if: drug and
weight are read back and confirmed. What something comes before is answered after that, one dose
after the other.
"""

from dataclasses import replace
from typing import Final

from assistant.brief.answering_doses import asked_check, check_or_tell
from assistant.brief.doses_awaited import DOSES_GO_BY, await_dose, keep_dose_question
from assistant.brief.events.asides import DoseCheckPassed, DoseDropped, DoseQueried
from assistant.brief.going_on import ask, ask_same_patient, go_on, read_again, tell
from assistant.brief.item import PUT_OFF, Standing
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import confirm_weight_again, weight
from assistant.brief.states import State
from assistant.brief.told_doses import no_adults_age
from assistant.brief.unsettled import DoseQuestion, Fact, Figure, Wanted
from assistant.dosing.answers import maximum_of
from assistant.dosing.drugs import Use
from assistant.dosing.formulary import Entry
from assistant.dosing.units import said_in, spoken
from assistant.grammar.readings import Reading, Verdict
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled

DOSES: Final = ("dose", "dose_low_pressure", "volume")
"""The meanings that ask for one."""
_ASKED_FOR = ("weight_kg", "age_years")
"""What whoever asks for a dose is told to tell."""
_INDUCES, _KEEPS_ASLEEP = Use.INDUCTION, (Use.SEDATION, Use.ANALGESIA)


def ask_dose(now: Moment, reading: Reading) -> Steps:
    """The dose of a drug, its dose for a low blood pressure, or how much of it to draw up."""
    yield from _ask(now, dose_question(reading))


def ask_dose_again(now: Moment, reading: Reading) -> Steps:
    """The dose that was told last, worked out and checked anew, as something may have changed.

    Drug and weight are not read back once more: they were before, and are not heard now.
    """
    told = now.case.known.answered
    if told is None:
        yield from tell(now, Line(now.says.no_dose_told, "no-dose"))
        return
    named_kg = told.weight_kg if told.what_if else None
    surely = _surely_heard(reading)
    again = DoseQuestion(
        told.drug, surely, named_kg, told.wanted, told.low_pressure, understood=True
    )
    yield from _ask(now, again)


def confirm_dose_question(now: Moment, reading: Reading) -> Steps:
    """A yes to the drug and weight, or to what was asked before the dose: there no plain one."""
    quote = now.case.known.quote
    if quote is not None and quote.check is not None and reading.meaning == "plain_yes":
        said = now.site.wording.may_be_said
        text = filled(now.says.bare_yes, yes=said.confirm[0], no=said.decline[0])
        yield Line(text, "say-how")
        return
    if quote is not None and quote.check is not None:
        yield Happened(DoseCheckPassed(check=quote.check), quote.check)
    yield from check_or_tell(now)
    yield from go_on_with_doses(now)


def excluded(now: Moment, reading: Reading) -> Steps:
    """A yes in full to what was asked before the dose; to a drug and a weight it is none."""
    quote = now.case.known.quote
    if quote is None or quote.check is None:
        yield from go_on(now)
    else:
        yield from confirm_dose_question(now, reading)


def drop_dose_question(now: Moment, _: Reading) -> Steps:
    """A no: the question is dropped, with the reason when something bars the drug."""
    quote = now.case.known.quote
    text = now.says.dose_dropped
    if quote is not None and quote.check is not None:
        text = asked_check(now, quote).otherwise
    yield Happened(DoseDropped(), text)
    yield Line(text, "dose-dropped")
    yield from go_on_with_doses(now)


def awaited_dose(now: Moment, figure: Figure | None) -> Steps | None:
    """The answer to the dose question that waited until that figure of the patient was settled;
    None when nobody waits for one, or something else comes first."""
    if figure is None:
        return None
    waits = now.case.known.still_awaited(now.present.now_s)
    ready = [one for one in waits if _may_be_told(now, one)]
    if not ready and figure in _ASKED_FOR:  # what else comes first is asked for
        ready = [one for one in waits if one.barred_by is None]
    return _ask(now, ready[0]) if ready else None


def take_up_doses(now: Moment) -> Steps:
    """The same after a restart: whoever waits for a dose is told what comes before it, unless the
    weight is being asked for."""
    item, awaited = now.case.current, now.case.known.still_awaited(now.present.now_s)
    waits = [one for one in awaited if one.barred_by is None]
    asks = now.case.state in (State.OPENED, State.ASKING, State.PAUSING, State.READY)
    weighed = item is not None and item.figure == "weight_kg"
    if waits and asks and not weighed and not any(_may_be_told(now, one) for one in waits):
        yield from _ask(now, waits[0])
    else:
        yield from go_on_with_doses(now, whole=True)


def _may_be_told(now: Moment, question: DoseQuestion) -> bool:
    """Whether nothing comes before its answer any more, nor bars it."""
    if question.barred_by is not None and now.case.known.value_of(question.barred_by) is True:
        return False
    entry = found(now, question.drug)
    weight_kg = now.case.known.weight_kg if question.named_kg is None else question.named_kg
    by_patient = entry is not None and question.named_kg is None
    first = _what_comes_first(now, entry) if by_patient and entry is not None else None
    return entry is not None and (first or _without_its_age(now, weight_kg)) is None


def go_on_with_doses(now: Moment, *, whole: bool = False) -> Steps:
    """The next dose that is waited for, once nothing of the one before awaits an answer; then back
    to what was open, as in `go_on`.

    Its drug is read back first: nobody takes two doses down in one breath.
    """
    answers = now.case.state in (State.QUOTING, State.STATING, State.CHECKING)
    waits = [] if answers else now.case.known.still_awaited(now.present.now_s)
    ready = next((one for one in waits if _may_be_told(now, one)), None)
    if ready is None:
        yield from go_on(now, whole=whole)
    else:
        yield from _ask(now, replace(ready, surely=False, understood=False))


def correct_weight(now: Moment, reading: Reading) -> Steps:
    """Another weight than was read back with the drug: it is read back as well; the patient's own
    before any dose. The drug had no yes by it, however surely the number was heard."""
    quote, number = now.case.known.quote, reading.values["number"]
    if quote is None:
        return
    if quote.what_if:
        surely, named_kg = _surely_heard(reading), int(number)
        anew = DoseQuestion(quote.drug, surely, named_kg, quote.wanted, quote.low_pressure)
        yield from _ask(now, anew)
        return
    yield from keep_dose_question(now)
    yield Happened(DoseDropped(), "another weight")
    yield from weight(now, replace(reading, values={"kilograms": number}))


def ask_maximum(now: Moment, reading: Reading) -> Steps:
    """The site's maximum; it goes by nobody's weight, so nothing has to be read back."""
    asked = str(reading.values["drug"])
    entry = found(now, asked)
    if entry is None:
        yield from not_here(now, asked)
        return
    drug, use = entry
    most = said_in(use.maximum.most.quantity, drug.preparation(use).strength.quantity)
    limit = maximum_of(use, spoken(most, now.tongue), now.tongue)
    named = f"{drug.called} {use.purpose}"
    text = filled(now.says.drug_maximum, drug=named, maximum=limit)
    yield from tell(now, Line(text, "maximum"))


def found(now: Moment, drug: str) -> Entry | None:
    """What the drug's name in a question stands for; None when it is not on the formulary."""
    try:
        return now.site.formulary.entry(drug)
    except KeyError:
        return None


def not_here(now: Moment, drug: str) -> Steps:
    """Say that the drug is not on the formulary."""
    yield from tell(now, Line(filled(now.says.drug_absent, drug=drug), "drug-absent"))


def dose_question(reading: Reading) -> DoseQuestion:
    """A question as somebody said it."""
    named_kg = reading.values.get("weight_kg")
    return DoseQuestion(
        str(reading.values["drug"]),
        _surely_heard(reading),
        None if named_kg is None else int(named_kg),
        Wanted.VOLUME if reading.meaning == "volume" else Wanted.DOSE,
        low_pressure=reading.meaning == "dose_low_pressure",
    )


def _surely_heard(reading: Reading) -> bool:
    """Whether the values of a reading need not be read back for how they were heard."""
    return reading.verdict is Verdict.ACCEPT and reading.runner_up is None


def _ask(now: Moment, question: DoseQuestion) -> Steps:
    entry, known = found(now, question.drug), now.case.known
    if entry is None:
        yield from not_here(now, question.drug)
        return
    key = _meant(now, entry, question.drug)
    entry = now.site.formulary.entry(key)
    named_kg = question.named_kg
    weight_kg = known.weight_kg if named_kg is None else named_kg
    first = None if named_kg is not None else _what_comes_first(now, entry)
    first = first or _without_its_age(now, weight_kg)
    if first is not None:
        if not known.no_adult:
            yield from await_dose(question)
        if now.case.state is State.QUOTING:  # nobody awaits an answer to that any more
            yield Happened(DoseDropped(), "another dose was asked for")
        yield from first
        return
    what_if = named_kg is not None and weight_kg != known.weight_kg
    of_whom = "" if weight_kg is None else f" for {weight_kg} kg"
    queried = DoseQueried(
        drug=key,
        weight_kg=weight_kg,
        what_if=what_if,
        wanted=question.wanted,
        low_pressure=question.low_pressure,
    )
    yield Happened(queried, f"{entry.drug.called}{of_whom}?")
    surely = question.surely and named_kg is None and not entry.drug.sounds_like
    if question.understood or surely:
        yield from check_or_tell(now)
    yield from go_on_with_doses(now)


def _meant(now: Moment, entry: Entry, key: str) -> str:
    """The drug's key, with its use for keeping somebody asleep where something is in: nobody is
    induced again then. A use that was named stays."""
    if key == entry.drug.id and now.case.known.airway_is_in and entry.indication.use is _INDUCES:
        for other in entry.drug.indications:
            if other.use in _KEEPS_ASLEEP:
                return f"{key}/{other.id}"
    return key


def _what_comes_first(now: Moment, entry: Entry) -> Steps | None:
    """What has to be settled before a dose for this patient; None when nothing has."""
    known = now.case.known
    if known.patient_in_doubt:
        return ask_same_patient(now)
    by_weight = entry.indication.dose.per_kilogram
    if by_weight and _weight_is_asked_for(now):
        return tell(now, Line(now.says.weight_again, "weight-again"))
    if _is_read_back(now):
        return tell(now, Line(now.says.fact_again, "weight-again"))
    awaited = _awaits_its_yes(now)
    if awaited is not None:
        return _read_back(now, awaited)
    if by_weight and known.weight_kg is None:
        return _ask_for(now, "weight_kg", Line(now.says.dose_no_weight, "no-weight"))
    return confirm_weight_again(now) if known.weight_in_doubt else None


def _without_its_age(now: Moment, weight_kg: int | None) -> Steps | None:
    """Why there is no dose before an adult's age is told; None when it is not needed."""
    known = now.case.known
    if known.no_adult:
        return tell(now, Line(no_adults_age(now), "dose-refused"))
    if weight_kg is not None and known.age_years is None and _may_be_a_child(now, weight_kg):
        light = now.say(now.site.formulary.adults.ask_age_below_kg)
        line = Line(filled(now.says.dose_no_age, number=light), "no-age")
        return _ask_for(now, "age_years", line)
    return None


def _ask_for(now: Moment, figure: Figure, line: Line) -> Steps:
    """Say that it is not known; where an item asks for it, that comes before the others now."""
    asking = list(now.case.brief.asking_for(figure))
    open_items = now.case.with_standing(Standing.OPEN, *PUT_OFF)
    item = next((one for one in open_items if one in asking), None)
    another = len(now.case.known.still_awaited(now.present.now_s)) > 1
    asked = item is not None and now.case.state is State.ASKING
    if not (another and asked):  # who asked for the one before was told so
        yield line
    if item is None or not asked or item is now.case.current:
        yield from go_on(now)
    else:
        yield from ask(now, item)


def _read_back(now: Moment, fact: Fact) -> Steps:
    """Something that awaits its yes comes before a dose that goes by it."""
    weight_first = fact.figure == "weight_kg"
    yield Line(now.says.weight_again if weight_first else now.says.fact_again, "weight-again")
    yield from read_again(fact)
    yield from go_on(now)


def _awaits_its_yes(now: Moment) -> Fact | None:
    """What a dose goes by that was told and read back, and is neither taken nor refused."""
    told = now.case.known.facts_read_back
    return next((fact for fact in told if fact.figure in DOSES_GO_BY), None)


def _weight_is_asked_for(now: Moment) -> bool:
    """Whether the item of the weight was answered, and awaits a yes to its read-back."""
    item = now.case.current
    return _is_read_back(now) and item is not None and item.figure == "weight_kg"


def _is_read_back(now: Moment) -> bool:
    """The same of any item by whose answer a dose goes."""
    known, item = now.case.known, now.case.current
    return item is not None and item.figure in DOSES_GO_BY and known.pending is not None


def _may_be_a_child(now: Moment, weight_kg: int) -> bool:
    """Whether the weight is a small adult's; below an adult's it is refused for that."""
    adults = now.site.formulary.adults
    return adults.weight_kg.holds(weight_kg) and weight_kg < adults.ask_age_below_kg
