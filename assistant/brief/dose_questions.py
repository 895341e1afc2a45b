"""Dose questions: no dose for a weight that was not read back, or before what bars it is excluded.

With the patient's confirmed weight the answer comes at once and names the drug first; a drug whose
name sounds like another's is read back even so. A weight in the question is a what-if: drug and
weight are read back and confirmed.
"""

from dataclasses import replace

from assistant.brief.events.asides import (
    DoseCheckAsked,
    DoseCheckPassed,
    DoseDropped,
    DoseQueried,
    DoseTold,
)
from assistant.brief.going_on import go_on, read_again
from assistant.brief.item import PUT_OFF
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import confirm_weight_again, no_adults_age, weight
from assistant.brief.states import State
from assistant.brief.told_doses import answer_to, written_dose
from assistant.brief.unsettled import Fact, Quote, Wanted
from assistant.dosing.answers import DoseAnswer, maximum_of
from assistant.dosing.drugs import AskBefore, Use
from assistant.dosing.formulary import Entry
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import amount_in, plain, said_in, spoken
from assistant.grammar.readings import Reading, Verdict
from assistant.speaking.mouth import Line

_DOSES_GO_BY = ("weight_kg", "age_years", "low_pressure", "pressure_mmhg", "allergies", "feature")
"""The facts without which another dose might be told, or one that is barred."""
_INDUCES, _KEEPS_ASLEEP = Use.INDUCTION, (Use.SEDATION, Use.ANALGESIA)


def ask_dose(now: Moment, reading: Reading) -> Steps:
    """The dose of a drug."""
    yield from _ask(now, reading, Wanted.DOSE, low_pressure=False)


def ask_low_pressure_dose(now: Moment, reading: Reading) -> Steps:
    """Its dose for a low blood pressure."""
    yield from _ask(now, reading, Wanted.DOSE, low_pressure=True)


def ask_volume(now: Moment, reading: Reading) -> Steps:
    """How much of it to draw up."""
    yield from _ask(now, reading, Wanted.VOLUME, low_pressure=False)


def ask_dose_again(now: Moment, reading: Reading) -> Steps:
    """The dose that was told last, worked out and checked anew, as something may have changed.

    Drug and weight are not read back once more: they were before, and are not heard now.
    """
    told = now.case.known.answered
    if told is None:
        yield Line(now.says.no_dose_told, "no-dose")
        yield from go_on(now)
        return
    weight = {"weight_kg": told.weight_kg} if told.what_if and told.weight_kg is not None else {}
    again = replace(reading, values={"drug": told.drug, **weight})
    yield from _ask(now, again, told.wanted, low_pressure=told.low_pressure, confirmed=True)


def correct_weight(now: Moment, reading: Reading) -> Steps:
    """Another weight than was read back with the drug: it is read back as well; the patient's own
    before any dose."""
    quote, number = now.case.known.quote, reading.values["number"]
    if quote is None:
        return
    if quote.what_if:
        again = replace(reading, values={"drug": quote.drug, "weight_kg": number})
        yield from _ask(now, again, quote.wanted, low_pressure=quote.low_pressure)
        return
    yield Happened(DoseDropped(), "another weight")
    yield from weight(now, replace(reading, values={"kilograms": number}))


def ask_maximum(now: Moment, reading: Reading) -> Steps:
    """The site's maximum; it goes by nobody's weight, so nothing has to be read back."""
    entry = found(now, reading)
    if entry is None:
        yield from not_here(now, reading)
        return
    drug, use = entry
    most = said_in(use.maximum.most.quantity, drug.preparation(use).strength.quantity)
    limit = maximum_of(use, spoken(most, now.tongue), now.tongue)
    named = f"{drug.called} {use.purpose}"
    yield Line(now.filled(now.says.drug_maximum, drug=named, maximum=limit), "maximum")
    yield from go_on(now)


def found(now: Moment, reading: Reading) -> Entry | None:
    """What the drug's name in a question stands for; None when it is not on the formulary."""
    try:
        return now.site.formulary.entry(str(reading.values["drug"]))
    except KeyError:
        return None


def not_here(now: Moment, reading: Reading) -> Steps:
    """Say that the drug is not on the formulary."""
    drug = str(reading.values["drug"])
    yield Line(now.filled(now.says.drug_absent, drug=drug), "drug-absent")
    yield from go_on(now)


def _ask(
    now: Moment, reading: Reading, wanted: Wanted, *, low_pressure: bool, confirmed: bool = False
) -> Steps:
    """`confirmed`: the drug was understood, and with it the weight that is named."""
    entry, known = found(now, reading), now.case.known
    if entry is None:
        yield from not_here(now, reading)
        return
    key = _meant(now, entry, str(reading.values["drug"]))
    entry = now.site.formulary.entry(key)
    named_kg = reading.values.get("weight_kg")
    weight_kg = known.weight_kg if named_kg is None else int(named_kg)
    first = None if named_kg is not None else _what_comes_first(now, entry)
    first = first or _without_its_age(now, weight_kg)
    if first is not None:
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
        wanted=wanted,
        low_pressure=low_pressure,
    )
    yield Happened(queried, f"{entry.drug.called}{of_whom}?")
    close = entry.drug.sounds_like or reading.runner_up is not None
    surely = named_kg is None and reading.verdict is Verdict.ACCEPT and not close
    if confirmed or surely:
        yield from check_or_tell(now)
    else:
        yield from go_on(now)


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
    by_weight = entry.indication.dose.per_kilogram
    if by_weight and _weight_is_asked_for(now):
        return _told(now, Line(now.says.weight_again, "weight-again"))
    if _is_read_back(now):
        return _told(now, Line(now.says.fact_again, "weight-again"))
    awaited = _awaits_its_yes(now)
    if awaited is not None:
        return _read_back(now, awaited)
    if by_weight and known.weight_kg is None:
        return _told(now, Line(now.says.dose_no_weight, "no-weight"))
    return confirm_weight_again(now) if known.weight_in_doubt else None


def _without_its_age(now: Moment, weight_kg: int | None) -> Steps | None:
    """Why there is no dose before an adult's age is told; None when it is not needed."""
    known = now.case.known
    if known.no_adult:
        return _told(now, Line(no_adults_age(now), "dose-refused"))
    if weight_kg is not None and known.age_years is None and _may_be_a_child(now, weight_kg):
        light = now.say(now.site.formulary.adults.ask_age_below_kg)
        return _told(now, Line(now.filled(now.says.dose_no_age, number=light), "no-age"))
    return None


def _told(now: Moment, line: Line) -> Steps:
    yield line
    yield from go_on(now)


def _read_back(now: Moment, fact: Fact) -> Steps:
    """Something that awaits its yes comes before a dose that goes by it."""
    weight_first = fact.figure == "weight_kg"
    yield Line(now.says.weight_again if weight_first else now.says.fact_again, "weight-again")
    yield from read_again(fact)
    yield from go_on(now)


def _awaits_its_yes(now: Moment) -> Fact | None:
    """What a dose goes by that was told and read back, and is neither taken nor refused."""
    told = now.case.known.facts_read_back
    return next((fact for fact in told if fact.figure in _DOSES_GO_BY), None)


def _weight_is_asked_for(now: Moment) -> bool:
    """Whether the item of the weight was answered, and awaits a yes to its read-back."""
    item = now.case.current
    return _is_read_back(now) and item is not None and item.figure == "weight_kg"


def _is_read_back(now: Moment) -> bool:
    """The same of any item by whose answer a dose goes."""
    known, item = now.case.known, now.case.current
    return item is not None and item.figure in _DOSES_GO_BY and known.pending is not None


def _may_be_a_child(now: Moment, weight_kg: int) -> bool:
    """Whether the weight is a small adult's; below an adult's it is refused for that."""
    adults = now.site.formulary.adults
    return adults.weight_kg.holds(weight_kg) and weight_kg < adults.ask_age_below_kg


def check_or_tell(now: Moment) -> Steps:
    """Ask what must be excluded before this drug; when all is, say the dose."""
    quote = now.case.known.quote
    if quote is None:
        return
    check = _open_check(now, quote)
    known = now.case.known
    told = () if check is None else [one for one in check.told_by if known.value_of(one) is True]
    if check is None:
        yield from _tell(now, quote)
    elif told:
        has = ", ".join(_called(now, one) for one in told)
        yield Happened(DoseDropped(), f"{check.otherwise} Told: {has}")
        text = now.filled(now.says.told_feature, features=has, otherwise=check.otherwise)
        yield Line(text, "dose-refused")
        yield from go_on(now)
    else:
        key = _check_key(now, quote, check)
        yield Happened(DoseCheckAsked(check=key), check.ask)
        yield from go_on(now)


def _called(now: Moment, told: str) -> str:
    """A feature of the site's own, or one that every site may be told of."""
    own = {one.id: one.called for one in now.site.brief.features}
    terms = now.tongue.terms
    every = {
        "low_pressure": terms.pressure_low,
        "acidosis": terms.acidosis,
        "obstruction": terms.obstruction,
    }
    return own.get(told) or every[told]


def confirm_dose_question(now: Moment, reading: Reading) -> Steps:
    """A yes to the drug and weight, or to what was asked before the dose: there no plain one."""
    quote = now.case.known.quote
    if quote is not None and quote.check is not None and reading.meaning == "plain_yes":
        said = now.site.wording.may_be_said
        text = now.filled(now.says.bare_yes, yes=said.confirm[0], no=said.decline[0])
        yield Line(text, "say-how")
        return
    if quote is not None and quote.check is not None:
        yield Happened(DoseCheckPassed(check=quote.check), quote.check)
    yield from check_or_tell(now)


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
    yield from go_on(now)


def asked_check(now: Moment, quote: Quote) -> AskBefore:
    """The question that awaits an answer. Raises StopIteration when none does."""
    checks = now.site.formulary.entry(quote.drug).indication.ask_before
    return next(one for one in checks if _check_key(now, quote, one) == quote.check)


def _open_check(now: Moment, quote: Quote) -> AskBefore | None:
    excluded = now.case.known.excluded
    for check in now.site.formulary.entry(quote.drug).indication.ask_before:
        if _check_key(now, quote, check) not in excluded:
            return check
    return None


def _check_key(now: Moment, quote: Quote, check: AskBefore) -> str:
    return f"{now.site.formulary.entry(quote.drug).drug.id}:{check.id}"


def _tell(now: Moment, quote: Quote) -> Steps:
    try:
        answer = answer_to(now, quote)
    except NoDose as refusal:
        yield Happened(DoseDropped(), str(refusal))
        yield Line(str(refusal), "dose-refused")
        yield from go_on(now)
        return
    dose = answer.indication.dose
    volume_unit = "mL/h" if dose.infusion else "mL"
    volume = plain(amount_in(answer.volume, volume_unit))
    told = DoseTold(
        drug=answer.drug_id,
        indication=answer.indication.id,
        weight_kg=quote.weight_kg,
        what_if=quote.what_if,
        low_pressure=answer.low_pressure,
        dose=written_dose(answer),
        unit=dose.given_unit,
        source=answer.source,
        volume_ml=None if dose.infusion else volume,
        volume_ml_per_h=volume if dose.infusion else None,
    )
    yield Happened(told, answer.written())
    yield Line(_sentence(now, quote, answer), "dose")
    yield from go_on(now)


def _sentence(now: Moment, quote: Quote, answer: DoseAnswer) -> str:
    says, known = now.says, now.case.known
    volume = quote.wanted is Wanted.VOLUME
    text = answer.volume_first(now.tongue) if volume else answer.spoken(now.tongue)
    if quote.low_pressure and not answer.low_pressure:
        text = now.filled(says.dose_usual_pressure, dose=text)
    drug = now.site.formulary.drug(answer.drug_id)
    for allergen in now.site.formulary.allergies_told_with(drug):
        if allergen.id in known.allergies:
            text = now.filled(says.dose_allergy, allergen=allergen.called, dose=text)
    if not quote.what_if and _pressure_is_missing(now) and _goes_by_pressure(answer):
        text = now.filled(says.dose_no_pressure, dose=text)
    before = [one for one in known.given if one.drug == answer.drug_id]
    if before and not quote.what_if:
        text = now.filled(says.dose_given_before, drug=drug.called, dose=text)
    if known.is_arrested:
        text = now.filled(says.dose_in_arrest, dose=text)
    leaves_label = now.site.formulary.reasons_of(drug, answer.indication, now.tongue)
    text = " ".join((text, *map(now.sentence, leaves_label)))
    return now.filled(says.dose_what_if, dose=text) if quote.what_if else text


def _pressure_is_missing(now: Moment) -> bool:
    """Whether it was asked for, and nobody had one."""
    known = now.case.known
    asked = now.case.brief.asking_for("pressure_mmhg")
    nothing_told = known.pressure_mmhg is None and known.low_pressure is None
    return nothing_told and any(now.case.standing(item) in PUT_OFF for item in asked)


def _goes_by_pressure(answer: DoseAnswer) -> bool:
    use = answer.indication
    return use.when_pressure_is_low is not None or use.never_when_pressure_is_low is not None
