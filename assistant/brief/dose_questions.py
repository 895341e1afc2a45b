"""Dose questions: no dose for a weight that was not read back, or before what bars it is excluded.

With the patient's confirmed weight the answer comes at once and names the drug first; a drug whose
name sounds like another's is read back even so. A weight in the question is a what-if: drug and
weight are read back and confirmed.
"""

from assistant.brief.going_on import go_on
from assistant.brief.known import Quote, Wanted
from assistant.brief.patient import confirm_weight_again
from assistant.brief.situation import Desk, Happening, Steps
from assistant.dosing.answers import DoseAnswer
from assistant.dosing.doses import dose_of
from assistant.dosing.drugs import AskBefore
from assistant.dosing.formulary import Entry
from assistant.dosing.patient import Patient
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import amount_in, plain, quantity, spoken
from assistant.dosing.weights import Sex
from assistant.grammar.readings import Reading, Verdict
from assistant.speaking.mouth import Line


def ask_dose(desk: Desk, reading: Reading) -> Steps:
    yield from _ask(desk, reading, Wanted.DOSE, low_pressure=False)


def ask_low_pressure_dose(desk: Desk, reading: Reading) -> Steps:
    yield from _ask(desk, reading, Wanted.DOSE, low_pressure=True)


def ask_volume(desk: Desk, reading: Reading) -> Steps:
    yield from _ask(desk, reading, Wanted.VOLUME, low_pressure=False)


def ask_maximum(desk: Desk, reading: Reading) -> Steps:
    """The site's maximum; it goes by nobody's weight, so nothing has to be read back."""
    entry = found(desk, reading)
    if entry is None:
        yield from not_here(desk, reading)
        return
    drug, use = entry
    most = spoken(quantity(use.maximum.amount, use.dose.given_unit), desk.tongue)
    named = f"{drug.called} {use.purpose}"
    yield Line(desk.filled(desk.says.drug_maximum, drug=named, maximum=most), "maximum")
    yield from go_on(desk)


def found(desk: Desk, reading: Reading) -> Entry | None:
    """What the drug's name in a question stands for; None when it is not on the formulary."""
    try:
        return desk.site.formulary.entry(str(reading.values["drug"]))
    except KeyError:
        return None


def not_here(desk: Desk, reading: Reading) -> Steps:
    drug = str(reading.values["drug"])
    yield Line(desk.filled(desk.says.drug_absent, drug=drug), "drug-absent")
    yield from go_on(desk)


def _ask(desk: Desk, reading: Reading, wanted: Wanted, *, low_pressure: bool) -> Steps:
    entry, known = found(desk, reading), desk.case.known
    if entry is None:
        yield from not_here(desk, reading)
        return
    named_kg = reading.values.get("weight_kg")
    if named_kg is None and known.weight_kg is None and entry.indication.dose.per_kilogram:
        yield Line(desk.says.dose_no_weight, "no-weight")
        yield from go_on(desk)
        return
    if named_kg is None and known.weight_in_doubt:
        yield from confirm_weight_again(desk)
        return
    weight_kg = known.weight_kg if named_kg is None else int(named_kg)
    what_if = named_kg is not None and weight_kg != known.weight_kg
    of_whom = "" if weight_kg is None else f" for {weight_kg} kg"
    yield Happening(
        "dose-queried",
        f"{entry.drug.called}{of_whom}?",
        values={
            "drug": str(reading.values["drug"]),
            "weight_kg": weight_kg,
            "what_if": what_if,
            "wanted": wanted.value,
            "low_pressure": low_pressure,
        },
    )
    close = entry.drug.sounds_like or reading.runner_up is not None
    if named_kg is None and reading.verdict is Verdict.ACCEPT and not close:
        yield from check_or_tell(desk)
    else:
        yield from go_on(desk)


def check_or_tell(desk: Desk) -> Steps:
    """Ask what must be excluded before this drug; when all is, say the dose."""
    quote = desk.case.known.quote
    if quote is None:
        return
    check = _open_check(desk, quote)
    if check is None:
        yield from _tell(desk, quote)
    else:
        key = _check_key(desk, quote, check)
        yield Happening("dose-check-asked", check.ask, values={"check": key})
        yield from go_on(desk)


def confirm_quote(desk: Desk) -> Steps:
    """A yes to the drug and weight, or to what was asked before the dose."""
    quote = desk.case.known.quote
    if quote is not None and quote.check is not None:
        yield Happening("dose-check-passed", quote.check, values={"check": quote.check})
    yield from check_or_tell(desk)


def refuse_quote(desk: Desk) -> Steps:
    """A no: the question is dropped, with the reason when something bars the drug."""
    quote = desk.case.known.quote
    text = desk.says.dose_dropped
    if quote is not None and quote.check is not None:
        text = asked_check(desk, quote).otherwise
    yield Happening("dose-dropped", text)
    yield Line(text, "dose-dropped")
    yield from go_on(desk)


def asked_check(desk: Desk, quote: Quote) -> AskBefore:
    """The question that awaits an answer. Raises StopIteration when none does."""
    checks = desk.site.formulary.entry(quote.drug).indication.ask_before
    return next(one for one in checks if _check_key(desk, quote, one) == quote.check)


def _open_check(desk: Desk, quote: Quote) -> AskBefore | None:
    excluded = desk.case.known.excluded
    for check in desk.site.formulary.entry(quote.drug).indication.ask_before:
        if _check_key(desk, quote, check) not in excluded:
            return check
    return None


def _check_key(desk: Desk, quote: Quote, check: AskBefore) -> str:
    return f"{desk.site.formulary.entry(quote.drug).drug.id}:{check.id}"


def _tell(desk: Desk, quote: Quote) -> Steps:
    try:
        answer = _answer(desk, quote)
    except NoDose as refusal:
        yield Happening("dose-dropped", str(refusal))
        yield Line(str(refusal), "dose-refused")
        yield from go_on(desk)
        return
    volume_unit = "mL/h" if answer.indication.dose.infusion else "mL"
    yield Happening(
        "dose-told",
        answer.written(),
        values={
            "drug": answer.drug_id,
            "indication": answer.indication.id,
            "weight_kg": quote.weight_kg,
            "what_if": quote.what_if,
            "low_pressure": answer.low_pressure,
            "dose": plain(amount_in(answer.dose, answer.indication.dose.given_unit)),
            "unit": answer.indication.dose.given_unit,
            "volume_ml" if volume_unit == "mL" else "volume_ml_per_h": plain(
                amount_in(answer.volume, volume_unit)
            ),
            "source": answer.source,
        },
    )
    yield Line(_sentence(desk, quote, answer), "dose")
    yield from go_on(desk)


def _answer(desk: Desk, quote: Quote) -> DoseAnswer:
    """Of a what-if only the weight is taken: nothing else is known of that body."""
    formulary, known = desk.site.formulary, desk.case.known
    entry = formulary.entry(quote.drug)
    patient = Patient(weight_kg=quote.weight_kg, low_pressure=quote.low_pressure)
    if not quote.what_if:
        patient = Patient(
            weight_kg=quote.weight_kg,
            height_cm=known.height_cm,
            sex=None if known.sex is None else Sex(known.sex),
            age_years=known.age_years,
            low_pressure=quote.low_pressure or known.low_pressure is True,
        )
    return dose_of(
        entry.drug,
        patient,
        adults=formulary.adults,
        indication=entry.indication.id,
        tongue=desk.tongue,
    )


def _sentence(desk: Desk, quote: Quote, answer: DoseAnswer) -> str:
    says, known = desk.says, desk.case.known
    volume = quote.wanted is Wanted.VOLUME
    text = answer.volume_first(desk.tongue) if volume else answer.spoken(desk.tongue)
    if quote.low_pressure and not answer.low_pressure:
        text = desk.filled(says.dose_usual_pressure, dose=text)
    drug = desk.site.formulary.drug(answer.drug_id)
    for allergen in drug.allergens:
        if allergen in known.allergies:
            called = desk.site.formulary.allergen(allergen).called
            text = desk.filled(says.dose_allergy, allergen=called, dose=text)
    return desk.filled(says.dose_what_if, dose=text) if quote.what_if else text
