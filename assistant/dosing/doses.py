"""From a drug and a patient to a dose and a volume: the weight, the amount, the volume.

Each step keeps its line of the working, so that the answer shows how it came about.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from assistant.dosing.answers import DoseAnswer
from assistant.dosing.drawing_up import (
    USUAL_SYRINGES,
    Syringe,
    mixes_needed,
    step_of,
    syringe_ml,
    too_fast,
    vials_needed,
)
from assistant.dosing.drugs import AgeDose, Dose, Drug, Indication
from assistant.dosing.formulary import Adults
from assistant.dosing.patient import Patient
from assistant.dosing.preparations import Preparation
from assistant.dosing.refusal import NoDose
from assistant.dosing.sourced import Maximum, Span
from assistant.dosing.units import Quantity, amount_in, half_up, plain, quantity, to_unit, written
from assistant.dosing.weights import WeightKind, body_mass_index, scaled_weight_kg
from assistant.language.tongue import ENGLISH, Tongue

WEIGHT_STEP_KG = Decimal("0.1")
"""Calculated weights are rounded to this before they are used, so that what is said adds up."""
USUAL_ADULTS = Adults()


@dataclass(frozen=True, slots=True)
class _Weight:
    """The weight that a dose goes by; None for a fixed dose."""

    kg: Decimal | None = None
    kind: WeightKind | None = None
    working: str = ""
    index: Decimal | None = None
    """The body mass index, where it decided between total weight and another; to a tenth."""


@dataclass(frozen=True, slots=True)
class _Amount:
    """What is given, not rounded; a rate for an infusion."""

    given: Quantity
    maximum: Quantity
    capped: bool
    working: str


@dataclass(frozen=True, slots=True)
class _Volume:
    """What is drawn up, or set on the pump."""

    set_to: Quantity
    rounded: bool
    working: str


def dose_of(
    drug: Drug,
    patient: Patient,
    *,
    adults: Adults = USUAL_ADULTS,
    syringes: Sequence[Syringe] = USUAL_SYRINGES,
    indication: str | None = None,
    tongue: Tongue = ENGLISH,
) -> DoseAnswer:
    """The dose of a drug for a patient, and the volume that holds it.

    The weight may be unknown for a fixed dose only. `adults` and `syringes` are the formulary's
    own, `indication` the id of one of the drug's, the first when None. For a low pressure, or from
    an age on, it is the drug's separate dose, where it has one.
    Raises NoDose, in the words of `tongue`, when a figure is missing or is not an adult's, KeyError
    for an unknown indication.
    """
    use = drug.indication(indication)
    dose = _dose_for(drug, use, patient, tongue)
    preparation = drug.preparation(use)
    try:
        refuse_unless_adult(patient, adults, tongue)
        weight = _weight(dose.goes_by, patient, adults, tongue) if dose.goes_by else _Weight()
        amount = _amount(dose, weight, use.maximum)
        volume = _volume(amount, dose, preparation, syringes, tongue)
    except NoDose as reason:
        raise NoDose(tongue.terms.dose.none.format(drug=drug.called, reason=reason)) from None
    return DoseAnswer(
        drug_id=drug.id,
        drug=drug.called,
        indication=use,
        low_pressure=dose is use.when_pressure_is_low,
        reduced=dose is use.when_old,
        for_age=use.when_old is not None and _is_old(patient, use.when_old),
        weight_kg=weight.kg,
        weight_kind=weight.kind,
        body_mass_index=weight.index,
        dose=amount.given,
        volume=volume.set_to,
        strength=preparation.strength.quantity,
        vials=vials_needed(preparation, volume.set_to),
        mixes=mixes_needed(preparation, volume.set_to),
        syringe_ml=syringe_ml(preparation, volume.set_to, syringes),
        too_fast=too_fast(preparation, volume.set_to),
        capped=amount.capped,
        rounded=volume.rounded,
        source=_source(dose),
        working="; ".join(filter(None, (weight.working, amount.working, volume.working))),
        cautions=drug.cautions,
    )


def refuse_unless_adult(patient: Patient, adults: Adults, tongue: Tongue = ENGLISH) -> None:
    """Raises NoDose for a weight, height or age that is not an adult's."""
    figures: tuple[tuple[str, int | Decimal | None, Span, str], ...] = (
        ("weight", patient.weight_kg, adults.weight_kg, "kilogram"),
        ("height", patient.height_cm, adults.height_cm, "centimetre"),
        ("age", patient.age_years, adults.age_years, "year"),
    )
    for name, figure, span, unit in figures:
        if figure is not None and not span.holds(figure):
            many = tongue.terms.units.named(unit).many
            raise NoDose(only_adults(name, span, many, tongue))


def only_adults(name: str, span: Span, unit: str, tongue: Tongue = ENGLISH) -> str:
    """Why a figure ("weight") outside the formulary's range is refused; the unit in the plural."""
    say = tongue.numbers.say_number
    figure: str = getattr(tongue.terms, name)
    return tongue.terms.only_adults.format(
        figure=figure, low=say(span.low), high=say(span.high), unit=unit
    )


def _is_old(patient: Patient, dose: AgeDose) -> bool:
    return patient.age_years is not None and patient.age_years >= dose.from_age_years


def _dose_for(drug: Drug, use: Indication, patient: Patient, tongue: Tongue) -> Dose:
    """The separate dose for a low pressure or, above it, for the old or frail, if there is one.

    Raises NoDose where a low pressure bars any.
    """
    usual, old = use.dose, use.when_old
    if old is not None and (_is_old(patient, old) or (patient.frail and old.frail_too)):
        usual = old
    if not patient.low_pressure:
        return usual
    if use.never_when_pressure_is_low is not None:
        none = tongue.terms.dose.none_at_low_pressure
        reason = use.never_when_pressure_is_low
        raise NoDose(none.format(drug=drug.called, purpose=use.purpose, reason=reason))
    return use.when_pressure_is_low or usual


def _weight(kind: WeightKind, patient: Patient, adults: Adults, tongue: Tongue) -> _Weight:
    """The weight that the dose goes by; the total weight of a patient who is not obese.

    Who is too light to be likely obese need not have height and sex known; but a predicted weight
    is not about obesity, and needs both.
    """
    terms = tongue.terms.dose
    if patient.weight_kg is None:
        raise NoDose(terms.weight_unknown)
    total_kg = Decimal(patient.weight_kg)
    if not kind.needs_height_and_sex:
        return _Weight(total_kg, kind)
    of_obesity = kind is not WeightKind.PREDICTED
    if patient.height_cm is None or patient.sex is None:
        if of_obesity and total_kg < adults.ask_height_from_kg:
            why = f"height or sex not known, below {adults.ask_height_from_kg} kg: total weight"
            return _Weight(total_kg, WeightKind.TOTAL, why)
        missing = tongue.missing(patient.height_cm, patient.sex, terms.either)
        called = terms.weights.named(kind.value)
        raise NoDose(terms.body_unknown.format(kind=called, missing=missing))
    height_cm = Decimal(patient.height_cm)
    index = body_mass_index(total_kg, height_cm)
    # Rounded down, so that 29.96 is not told as the 30 from which another weight counts.
    shown = index.quantize(Decimal("0.1"), ROUND_DOWN)
    if of_obesity and index < adults.obese_from_bmi:
        why = (
            f"body mass index {plain(shown)} is below "
            f"{plain(adults.obese_from_bmi)}, so total weight and not {kind.value} weight"
        )
        return _Weight(total_kg, WeightKind.TOTAL, why, shown)
    kg = half_up(scaled_weight_kg(kind, total_kg, height_cm, patient.sex), WEIGHT_STEP_KG)
    of_whom = f"{plain(total_kg)} kg, {plain(height_cm)} cm, {patient.sex.value}"
    working = f"{kind.value} weight of {of_whom} = {plain(kg)} kg"
    return _Weight(kg, kind, working, shown if of_obesity else None)


def _amount(dose: Dose, weight: _Weight, maximum: Maximum) -> _Amount:
    """The dose for this weight, or the fixed dose, and never more than the maximum."""
    rate = dose.usual
    # Weight and dose were matched by `_weight`: whoever is not obese has the total weight instead.
    wanted = rate.at(weight.kg or Decimal(0)).quantity
    working = f"fixed {written(wanted)}"
    if weight.kg is not None:
        working = f"{written(rate.quantity)} x {plain(weight.kg)} kg = {written(wanted)}"
    limit = maximum.most.at(weight.kg or Decimal(0)).quantity
    most = to_unit(limit, str(wanted.units))
    if wanted <= most:
        return _Amount(wanted, most, capped=False, working=working)
    working += f"; above the maximum, so {written(most)} ({maximum.source})"
    return _Amount(most, most, capped=True, working=working)


def _volume(
    amount: _Amount,
    dose: Dose,
    preparation: Preparation,
    syringes: Sequence[Syringe],
    tongue: Tongue,
) -> _Volume:
    """What holds the amount, to the nearest mark of the syringe or step of the pump."""
    unit = "mL/h" if dose.infusion else "mL"
    strength = preparation.strength.quantity
    exact = amount_in(amount.given / strength, unit)
    step = step_of(preparation, exact, syringes)
    volume = _nearest(exact, step, amount_in(amount.maximum / strength, unit))
    if not volume:
        raise NoDose(tongue.terms.dose.too_small)
    shown = plain(half_up(exact, Decimal("0.0001")))
    working = f"{written(amount.given)} at {preparation.strength} = {shown} {unit}"
    if volume != exact:
        held = amount_in(quantity(volume, unit) * strength, dose.given_unit)
        held = half_up(held, Decimal("0.0001"))
        working += (
            f"; to {plain(step)} {unit}: {plain(volume)} {unit}, which is "
            f"{written(quantity(held, dose.given_unit))}"
        )
    return _Volume(quantity(volume, unit), rounded=volume != exact, working=working)


def _nearest(exact: Decimal, step: Decimal, most: Decimal) -> Decimal:
    """The nearest multiple of the step that is not above the maximum."""
    nearest = half_up(exact, step)
    if nearest <= most:
        return nearest
    return (exact / step).quantize(Decimal(1), ROUND_DOWN) * step


def _source(dose: Dose) -> str:
    text = f"{dose.published.source} ({dose.published.status.value})"
    return text if dose.reason is None else f"{text}; the site's reason: {dose.reason}"
