"""Doses that were told: what becomes known of the patient later may change them."""

from collections.abc import Iterable
from dataclasses import replace

from assistant.brief.events.asides import DosesOutdated
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.unsettled import Quote
from assistant.dosing.answers import DoseAnswer
from assistant.dosing.doses import dose_of, only_adults
from assistant.dosing.drugs import AskBefore, Drug
from assistant.dosing.patient import FRAIL, Patient
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import amount_in, plain
from assistant.dosing.weights import Sex
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def look_again(now: Moment, *, allergen: str | None = None, weighed: bool = False) -> Steps:
    """Something was told about the patient: name the drugs that it bars or changes.

    A dose that is another one by now holds no more, and must be asked for anew. `allergen`: the
    allergy that was told just now. What is in already is on record as it was given, and named
    first if the allergy bars it, or if it was `weighed` just now and was given for another weight.
    """
    if weighed:
        yield from _in_for_another_weight(now)
    if allergen is not None:
        for drug in dict.fromkeys(one.drug for one in now.case.known.given):
            yield from barred_and_in(now, drug, (allergen,))
        yield from _barred(now, allergen)
    changed = [drug for drug in _not_in_yet(now) if not _holds(now, drug)]
    if changed:
        yield Happened(DosesOutdated(drugs=changed), f"another dose now: {', '.join(changed)}")
        yield Line(ask_anew(now, changed), "doses-changed")


def _in_for_another_weight(now: Moment) -> Steps:
    known = now.case.known
    in_already = [drug for drug, told in known.doses.items() if told.is_in]
    wrong = [
        drug
        for drug in in_already
        if known.doses[drug].asked.weight_kg != known.weight_kg and not _holds(now, drug)
    ]
    if wrong:
        text = filled(now.says.given_for_another_weight, drugs=_named(now, wrong))
        yield Line(text, "given-weight")


def barred_and_in(now: Moment, drug_id: str, allergens: Iterable[str]) -> Steps:
    """That a drug is in though one of these allergies bars it; nothing where none does."""
    drug = now.site.formulary.drug(drug_id)
    barring = [one for one in allergens if one in now.site.formulary.barred_by(drug)]
    if barring:
        named = allergens_named(now, drug, barring)
        text = filled(now.says.given_allergy, drug=drug.called, allergen=named)
        yield Line(text, "given-allergy")


def allergens_named(now: Moment, drug: Drug, allergens: Iterable[str]) -> str:
    """What bars this drug, in words: another drug together with the class of both, after those
    that are named by themselves."""
    alone, of_class = [], []
    for one in map(now.site.formulary.allergen, allergens):
        group = now.site.formulary.class_with(drug, one.id)
        if group is None:
            alone.append(one.called)
        else:
            text = now.says.allergen_of_class
            of_class.append(text.format(allergen=one.called, group=group.called))
    return ", ".join((*alone, *of_class))


def ask_anew(now: Moment, drugs: Iterable[str]) -> str:
    """That these drugs have another dose now, which has to be asked for."""
    return filled(now.says.doses_changed, drugs=_named(now, drugs))


def no_adults_age(now: Moment) -> str:
    """For which ages there are doses."""
    years = now.tongue.terms.units.named("year").many
    return only_adults("age", now.site.formulary.adults.age_years, years, now.tongue)


def answer_to(now: Moment, quote: Quote) -> DoseAnswer:
    """The dose that was asked for. Of a what-if beside the patient's own weight only the weight is
    taken: nothing else is known of that body. Raises NoDose where there is none.
    """
    formulary, known = now.site.formulary, now.case.known
    entry = formulary.entry(quote.drug)
    patient = Patient(weight_kg=quote.weight_kg, low_pressure=quote.low_pressure)
    if not quote.what_if or known.weight_kg is None:
        patient = Patient(
            weight_kg=quote.weight_kg,
            height_cm=known.height_cm,
            sex=None if known.sex is None else Sex(known.sex),
            age_years=known.age_years,
            low_pressure=quote.low_pressure or known.low_pressure is True,
            frail=FRAIL in known.features,
        )
    return dose_of(
        entry.drug,
        patient,
        adults=formulary.adults,
        syringes=formulary.syringes,
        indication=entry.indication.id,
        tongue=now.tongue,
    )


def told_against(now: Moment, check: AskBefore) -> list[str]:
    """What was told of the patient that a drug's question asks after: it is barred."""
    return [one for one in check.told_by if now.case.known.value_of(one) is True]


def written_dose(answer: DoseAnswer) -> str:
    """As it is on record: digits as they are written, in the unit that the drug is given in."""
    return plain(amount_in(answer.dose, answer.indication.dose.given_unit))


def _not_in_yet(now: Moment) -> list[str]:
    known = now.case.known
    given = {one.drug for one in known.given}
    return [drug for drug in known.doses if drug not in given]


def _holds(now: Moment, drug: str) -> bool:
    """Whether it would be told just so by what is known now; with no weight nothing is known."""
    told, weight_kg = now.case.known.doses[drug], now.case.known.weight_kg
    checks = now.site.formulary.entry(told.asked.drug).indication.ask_before
    if any(told_against(now, one) for one in checks):
        return False
    if weight_kg is None:
        return True
    try:
        anew = answer_to(now, replace(told.asked, weight_kg=weight_kg))
    except NoDose:
        return False
    return written_dose(anew) == str(told.dose)


def _barred(now: Moment, allergen: str) -> Steps:
    """Of the drugs whose dose was told and that are not in yet: those barred alike in one line."""
    formulary = now.site.formulary
    drugs: dict[str, list[str]] = {}
    for drug in map(formulary.drug, _not_in_yet(now)):
        if allergen in formulary.barred_by(drug):
            drugs.setdefault(allergens_named(now, drug, (allergen,)), []).append(drug.id)
    for named, barred in drugs.items():
        text = filled(now.says.told_allergy, drugs=_named(now, barred), allergen=named)
        yield Line(text, "told-allergy")


def _named(now: Moment, drugs: Iterable[str]) -> str:
    return ", ".join(now.site.formulary.drug(one).called for one in drugs)
