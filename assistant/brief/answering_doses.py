"""The answer to a dose question: what bars the drug is asked first, then the dose is told.

What goes on after it is the business of `dose_questions`: another dose may be waited for.
"""

from assistant.brief.doses_awaited import keep_dose_question
from assistant.brief.events.asides import DoseCheckAsked, DoseDropped, DoseTold
from assistant.brief.item import PUT_OFF
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import ask_weight_again
from assistant.brief.told_doses import (
    allergens_named,
    answer_to,
    no_adults_age,
    told_against,
    written_dose,
)
from assistant.brief.unsettled import Quote, Wanted
from assistant.dosing.answers import DoseAnswer
from assistant.dosing.drugs import AskBefore
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import amount_in, plain
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import as_sentence, filled


def check_or_tell(now: Moment) -> Steps:
    """Ask what must be excluded before this drug; when all is, say the dose.

    Every dose comes this way, so none is told by a weight or to an age that is in doubt by now,
    whatever was said since it was asked for.
    """
    known, quote = now.case.known, now.case.known.quote
    if quote is None:
        return
    if known.no_adult:
        yield Happened(DoseDropped(), "no adult's age")
        yield Line(no_adults_age(now), "dose-refused")
        return
    if known.weight_in_doubt and not quote.what_if:
        yield from keep_dose_question(now, understood=True)
        yield Happened(DoseDropped(), "the weight is in doubt")
        yield from ask_weight_again(now)
        return
    check = _open_check(now, quote)
    told = [] if check is None else told_against(now, check)
    if check is None:
        yield from _tell_dose(now, quote)
    elif told:
        has = ", ".join(_called(now, one) for one in told)
        yield from keep_dose_question(now, understood=True, barred_by=told[0])
        yield Happened(DoseDropped(), f"{check.otherwise} Told: {has}")
        text = filled(now.says.told_feature, features=has, otherwise=check.otherwise)
        yield Line(text, "dose-refused")
    else:
        key = _check_key(now, quote, check)
        yield Happened(DoseCheckAsked(check=key), check.ask)


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


def asked_check(now: Moment, quote: Quote) -> AskBefore:
    """The question that awaits an answer. Raises StopIteration when none does."""
    checks = now.site.formulary.entry(quote.drug).indication.ask_before
    return next(one for one in checks if _check_key(now, quote, one) == quote.check)


def _open_check(now: Moment, quote: Quote) -> AskBefore | None:
    """The first that is not excluded, or was before something was told that it asks after."""
    excluded = now.case.known.excluded
    for check in now.site.formulary.entry(quote.drug).indication.ask_before:
        if _check_key(now, quote, check) not in excluded or told_against(now, check):
            return check
    return None


def _check_key(now: Moment, quote: Quote, check: AskBefore) -> str:
    return f"{now.site.formulary.entry(quote.drug).drug.id}:{check.id}"


def _tell_dose(now: Moment, quote: Quote) -> Steps:
    try:
        answer = answer_to(now, quote)
    except NoDose as refusal:
        yield Happened(DoseDropped(), str(refusal))
        yield Line(str(refusal), "dose-refused")
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


def _sentence(now: Moment, quote: Quote, answer: DoseAnswer) -> str:
    says, known = now.says, now.case.known
    volume = quote.wanted is Wanted.VOLUME
    text = answer.volume_first(now.tongue) if volume else answer.spoken(now.tongue)
    if quote.low_pressure and not answer.low_pressure:
        text = filled(says.dose_usual_pressure, dose=text)
    drug = now.site.formulary.drug(answer.drug_id)
    told_with = {one.id for one in now.site.formulary.allergies_told_with(drug)}
    allergies = [one for one in known.allergies if one in told_with]
    if allergies:
        named = allergens_named(now, drug, allergies)
        text = filled(says.dose_allergy, allergen=named, dose=text)
    if not quote.what_if and _pressure_is_missing(now) and _goes_by_pressure(answer):
        text = filled(says.dose_no_pressure, dose=text)
    before = [one for one in known.given if one.drug == answer.drug_id]
    if before and not quote.what_if:
        text = filled(says.dose_given_before, drug=drug.called, dose=text)
    if known.is_arrested:
        text = filled(says.dose_in_arrest, dose=text)
    leaves_label = now.site.formulary.reasons_of(drug, answer.indication, now.tongue)
    text = " ".join((text, *map(as_sentence, leaves_label)))
    return filled(says.dose_what_if, dose=text) if quote.what_if else text


def _pressure_is_missing(now: Moment) -> bool:
    """Whether it was asked for and nobody had one, or the one that was told is not so any more."""
    known = now.case.known
    asked = now.case.brief.asking_for("pressure_mmhg")
    nothing_told = known.pressure_mmhg is None and known.low_pressure is None
    put_off = any(now.case.standing(item) in PUT_OFF for item in asked)
    return nothing_told and (known.pressure_lost or put_off)


def _goes_by_pressure(answer: DoseAnswer) -> bool:
    use = answer.indication
    return use.when_pressure_is_low is not None or use.never_when_pressure_is_low is not None
