"""Doses that were told: what becomes known of the patient later may change them."""

from collections.abc import Iterable
from dataclasses import replace

from assistant.brief.events.asides import DosesOutdated
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.unsettled import Quote
from assistant.dosing.answers import DoseAnswer
from assistant.dosing.doses import dose_of
from assistant.dosing.patient import FRAIL, Patient
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import amount_in, plain
from assistant.dosing.weights import Sex
from assistant.speaking.mouth import Line


def look_again(now: Moment, *, allergen: str | None = None) -> Steps:
    """Something was told about the patient: name the drugs that it bars or changes.

    A dose that is another one by now holds no more, and must be asked for anew. `allergen`: the
    allergy that was told just now. What is in already is on record as it was given.
    """
    barred = [drug for drug in _not_in_yet(now) if _is_barred(now, drug, allergen)]
    if allergen is not None and barred:
        called = now.site.formulary.allergen(allergen).called
        text = now.filled(now.says.told_allergy, drugs=_named(now, barred), allergen=called)
        yield Line(text, "told-allergy")
    changed = [drug for drug in _not_in_yet(now) if not _holds(now, drug)]
    if changed:
        yield Happened(DosesOutdated(drugs=changed), f"another dose now: {', '.join(changed)}")
        yield Line(ask_anew(now, changed), "doses-changed")


def ask_anew(now: Moment, drugs: Iterable[str]) -> str:
    """That these drugs have another dose now, which has to be asked for."""
    return now.filled(now.says.doses_changed, drugs=_named(now, drugs))


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
    if weight_kg is None:
        return True
    try:
        anew = answer_to(now, replace(told.asked, weight_kg=weight_kg))
    except NoDose:
        return False
    return written_dose(anew) == str(told.dose)


def _is_barred(now: Moment, drug: str, allergen: str | None) -> bool:
    formulary = now.site.formulary
    return allergen in formulary.barred_by(formulary.drug(drug))


def _named(now: Moment, drugs: Iterable[str]) -> str:
    return ", ".join(now.site.formulary.drug(one).called for one in drugs)
