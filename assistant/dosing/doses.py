"""From a drug and a weight to a dose and a volume, in a sentence that shows how it came about.

Not a substitute for the label in hand: the licensed clinician decides, and every sentence says so.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from enum import Enum

from assistant.dosing.drugs import Dose, Drug, Indication
from assistant.dosing.formulary import Adults
from assistant.dosing.refusal import NoDose
from assistant.dosing.sourced import Span
from assistant.dosing.units import (
    Quantity,
    amount_in,
    half_up,
    plain,
    quantity,
    spoken,
    spoken_twice,
    written,
)
from assistant.dosing.weights import Sex, WeightKind, body_mass_index, scaled_weight_kg
from assistant.language.dose_terms import DoseTerms
from assistant.language.tongue import ENGLISH, Tongue

CHECK_THE_LABEL = ENGLISH.terms.dose.check
WEIGHT_STEP_KG = Decimal("0.1")
"""Calculated weights are rounded to this before they are used, so that what is said adds up."""
THIS_FORMULARY = Adults()


class Size(Enum):
    """Which of the site's three doses."""

    LOW = "low"
    USUAL = "usual"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class _Body:
    """What is known of the patient, within an adult's range."""

    weight_kg: Decimal | None
    height_cm: Decimal | None
    sex: Sex | None


@dataclass(frozen=True, slots=True)
class DoseAnswer:
    """One dose, with all that it rests on."""

    drug_id: str
    drug: str
    indication: Indication
    size: Size
    low_pressure: bool
    """Whether it is the separate dose for a patient whose pressure is low."""
    weight_kg: Decimal | None
    """The weight that the dose went by; None for a fixed dose."""
    weight_kind: WeightKind | None
    dose: Quantity
    """Calculated and capped, not rounded; a rate for an infusion."""
    volume: Quantity
    """Rounded to the syringe's graduation in mL, or to the pump's step in mL/h."""
    strength: Quantity
    capped: bool
    rounded: bool
    """Whether the volume was rounded."""
    source: str
    working: str
    cautions: tuple[str, ...]

    def spoken(self, tongue: Tongue = ENGLISH) -> str:
        """For the ear; a long dose is said to a tenth of its unit, below ten to a hundredth.

        Of dose and volume a teen or a ten is said in digits too: the weight was read back, but
        nobody reads these back.
        """
        terms = tongue.terms.dose
        return self._told(terms.dose_first, terms.capped, tongue)

    def volume_first(self, tongue: Tongue = ENGLISH) -> str:
        """For somebody who asks for the volume: the same figures, the volume leading."""
        terms = tongue.terms.dose
        return self._told(terms.volume_first, terms.capped_after, tongue)

    def _told(self, sentence: str, capped: str, tongue: Tongue) -> str:
        terms = tongue.terms.dose
        dose = spoken_twice(_audible(self.dose), tongue)
        volume = spoken_twice(self.volume, tongue)
        return sentence.format(
            opening=self._opening(lambda measured: spoken(measured, tongue), terms),
            dose=capped.format(dose=dose) if self.capped else dose,
            volume=terms.rounded.format(volume=volume) if self.rounded else volume,
            strength=spoken(self.strength, tongue),
            check=terms.check,
        )

    def written(self) -> str:
        """The same for the eye, with digits."""
        capped = "capped at the maximum of " if self.capped else ""
        rounded = " (rounded)" if self.rounded else ""
        opening = self._opening(written, ENGLISH.terms.dose)
        return (
            f"{opening}: {capped}{written(_audible(self.dose))} = "
            f"{written(self.volume)}{rounded} of {written(self.strength)}. {CHECK_THE_LABEL}"
        )

    def _opening(self, shown: Callable[[Quantity], str], terms: DoseTerms) -> str:
        size = {Size.LOW: terms.low, Size.USUAL: "", Size.HIGH: terms.high}[self.size]
        return terms.opening.format(
            drug=f"{self.drug[:1].upper()}{self.drug[1:]}",
            purpose=self.indication.purpose,
            pressure=terms.low_pressure if self.low_pressure else "",
            size=size,
            basis=self._basis(shown, terms),
        )

    def _basis(self, shown: Callable[[Quantity], str], terms: DoseTerms) -> str:
        if self.weight_kg is None or self.weight_kind is None:
            return terms.fixed_rate if self.indication.dose.infusion else terms.fixed_dose
        kind = terms.weights.named(self.weight_kind.value)
        return terms.by_weight.format(weight=shown(quantity(self.weight_kg, "kg")), kind=kind)


def dose_of(
    drug: Drug,
    weight_kg: int | Decimal | None,
    *,
    adults: Adults = THIS_FORMULARY,
    height_cm: int | Decimal | None = None,
    sex: Sex | None = None,
    age_years: int | None = None,
    low_pressure: bool = False,
    indication: str | None = None,
    size: Size = Size.USUAL,
    tongue: Tongue = ENGLISH,
) -> DoseAnswer:
    """The dose of a drug and the volume that holds it.

    The weight is the total one; it may be None for a fixed dose only. `adults` is the formulary's
    own, `indication` the id of one of the drug's, the first when None. With `low_pressure` it is
    the drug's separate dose for such a patient, where it has one.
    Raises NoDose, in the words of `tongue`, when a figure is missing or is not an adult's, KeyError
    for an unknown indication.
    """
    use = drug.indication(indication)
    if low_pressure and use.never_when_pressure_is_low is not None:
        reason = use.never_when_pressure_is_low
        none = tongue.terms.dose.none_at_low_pressure
        raise NoDose(none.format(drug=drug.called, purpose=use.purpose, reason=reason))
    separate = use.when_pressure_is_low if low_pressure else None
    dose = separate or use.dose
    body = _Body(
        weight_kg=_within(
            weight_kg, adults.weight_kg, "weight", unit="kilogram", drug=drug, tongue=tongue
        ),
        height_cm=_within(
            height_cm, adults.height_cm, "height", unit="centimetre", drug=drug, tongue=tongue
        ),
        sex=sex,
    )
    _within(age_years, adults.age_years, "age", unit="year", drug=drug, tongue=tongue)
    weight, kind, how = None, None, ""
    rate: Decimal = getattr(dose, size.value)
    if dose.per_kilogram:
        weight, kind, how = _weight_for(drug, use, body, adults, tongue)
    wanted = quantity(rate * (1 if weight is None else weight), dose.given_unit)
    per_kg = (
        "" if weight is None else f"{written(quantity(rate, dose.unit))} x {plain(weight)} kg = "
    )
    steps = [how] if how else []
    steps.append(f"{per_kg or 'fixed '}{written(wanted)}")
    maximum = quantity(use.maximum.amount, dose.given_unit)
    capped = bool(wanted > maximum)
    given = maximum if capped else wanted
    if capped:
        steps.append(f"above the maximum, so {written(maximum)} ({use.maximum.source})")

    preparation = drug.preparation(use)
    volume_unit = "mL/h" if dose.infusion else "mL"
    exact = amount_in(given / preparation.strength, volume_unit)
    step = Decimal(preparation.step.magnitude)
    volume = _set_to(exact, step, amount_in(maximum / preparation.strength, volume_unit))
    rounded = volume != exact
    steps.append(
        f"{written(given)} at {written(preparation.strength)} = "
        f"{plain(half_up(exact, Decimal('0.0001')))} {volume_unit}"
    )
    if rounded:
        held = amount_in(quantity(volume, volume_unit) * preparation.strength, dose.given_unit)
        held = half_up(held, Decimal("0.0001"))
        steps.append(
            f"to {plain(step)} {volume_unit}: {plain(volume)} {volume_unit}, which is "
            f"{written(quantity(held, dose.given_unit))}"
        )
    if not volume:
        raise _no_dose(drug, tongue.terms.dose.too_small, tongue)
    return DoseAnswer(
        drug_id=drug.id,
        drug=drug.called,
        indication=use,
        size=size,
        low_pressure=separate is not None,
        weight_kg=weight,
        weight_kind=kind,
        dose=given,
        volume=quantity(volume, volume_unit),
        strength=preparation.strength,
        capped=capped,
        rounded=rounded,
        source=_source(dose),
        working="; ".join(steps),
        cautions=drug.cautions,
    )


def _within(
    figure: int | Decimal | None, span: Span, name: str, *, unit: str, drug: Drug, tongue: Tongue
) -> Decimal | None:
    if figure is None:
        return None
    exact = Decimal(figure)
    if not span.holds(exact):
        many = tongue.terms.units.named(unit).many
        raise _no_dose(drug, only_adults(name, span, many, tongue), tongue)
    return exact


def _no_dose(drug: Drug, reason: str, tongue: Tongue) -> NoDose:
    return NoDose(tongue.terms.dose.none.format(drug=drug.called, reason=reason))


def only_adults(name: str, span: Span, unit: str, tongue: Tongue = ENGLISH) -> str:
    """Why a figure ("weight") outside the formulary's range is refused; the unit in the plural."""
    say = tongue.numbers.say_number
    figure: str = getattr(tongue.terms, name)
    return tongue.terms.only_adults.format(
        figure=figure, low=say(span.low), high=say(span.high), unit=unit
    )


def _weight_for(
    drug: Drug, use: Indication, body: _Body, adults: Adults, tongue: Tongue
) -> tuple[Decimal, WeightKind, str]:
    """The weight that the dose goes by, of which kind it is, and how it was worked out."""
    kind, terms = use.goes_by, tongue.terms.dose
    if body.weight_kg is None:
        raise _no_dose(drug, terms.weight_unknown, tongue)
    if not kind.needs_height_and_sex:
        return body.weight_kg, kind, ""
    if body.height_cm is None or body.sex is None:
        called = terms.weights.named(kind.value)
        missing = tongue.missing(body.height_cm, body.sex, terms.either)
        reason = terms.body_unknown.format(kind=called, missing=missing)
        raise _no_dose(drug, reason, tongue)
    index = body_mass_index(body.weight_kg, body.height_cm)
    if kind is not WeightKind.PREDICTED and index < adults.obese_from_bmi:
        why = (
            f"body mass index {plain(half_up(index, Decimal('0.1')))} is below "
            f"{plain(adults.obese_from_bmi)}, so total weight and not {kind.value} weight"
        )
        return body.weight_kg, WeightKind.TOTAL, why
    scaled_kg = scaled_weight_kg(kind, body.weight_kg, body.height_cm, body.sex)
    weight_kg = half_up(scaled_kg, WEIGHT_STEP_KG)
    measures = f"{plain(body.weight_kg)} kg, {plain(body.height_cm)} cm, {body.sex.value}"
    return weight_kg, kind, f"{kind.value} weight of {measures} = {plain(weight_kg)} kg"


def _set_to(exact: Decimal, step: Decimal, most: Decimal) -> Decimal:
    """The nearest mark of the syringe, or step of the pump, that is not above the maximum."""
    nearest = half_up(exact, step)
    if nearest <= most:
        return nearest
    return (exact / step).quantize(Decimal(1), ROUND_DOWN) * step


def _audible(dose: Quantity) -> Quantity:
    amount = Decimal(dose.magnitude)
    step = Decimal("0.1") if amount >= 10 else Decimal("0.01")
    return quantity(half_up(amount, step), str(dose.units))


def _source(dose: Dose) -> str:
    text = f"{dose.published.source} ({dose.published.status.value})"
    return text if dose.reason is None else f"{text}; the site's reason: {dose.reason}"
