"""From a drug and a weight to a dose and a volume, in a sentence that shows how it came about.

Not a substitute for the label in hand: the licensed clinician decides, and every sentence says so.
"""

from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from enum import Enum

from assistant.dosing.formulary import Adults, Dose, DosePerKilogram, Drug, Span
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import Concentration, Mass, half_up, plain, say_quantity
from assistant.dosing.weights import Sex, WeightKind, body_mass_index, scaled_weight_kg
from assistant.meaning.numbers import say_number

CHECK_THE_LABEL = "Check the label in hand."
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
    purpose: str
    route: str
    size: Size
    weight_kg: Decimal | None
    """The weight that the dose went by; None for a fixed dose."""
    weight_kind: WeightKind | None
    dose: Mass
    """Calculated and capped, not rounded."""
    volume_ml: Decimal
    """Rounded to the syringe's graduation."""
    concentration: Concentration
    capped: bool
    rounded: bool
    """Whether the volume was rounded."""
    source: str
    working: str
    cautions: tuple[str, ...]

    def spoken(self) -> str:
        """For the ear; a long dose is said to a tenth of its unit, below ten to a hundredth."""
        volume = say_quantity(self.volume_ml, "millilitre")
        if self.weight_kg is None or self.weight_kind is None:
            basis = "fixed dose"
        else:
            weight = say_quantity(self.weight_kg, "kilogram")
            basis = f"{weight} {self.weight_kind.value} weight"
        return (
            f"{self._opening()}, {basis}: {_audible(self.dose).spoken()}"
            f"{', the maximum here' if self.capped else ''}. "
            f"That is {volume}{', rounded,' if self.rounded else ''} "
            f"of {self.concentration.spoken()}. {CHECK_THE_LABEL}"
        )

    def written(self) -> str:
        """The same for the eye, with digits."""
        if self.weight_kg is None or self.weight_kind is None:
            basis = "fixed dose"
        else:
            basis = f"{plain(self.weight_kg)} kg {self.weight_kind.value} weight"
        return (
            f"{self._opening()}, {basis}: {_audible(self.dose).written()}"
            f"{' (the maximum here)' if self.capped else ''} = {plain(self.volume_ml)} mL"
            f"{' (rounded)' if self.rounded else ''} of {self.concentration.written()}. "
            f"{CHECK_THE_LABEL}"
        )

    def _opening(self) -> str:
        size = "" if self.size is Size.USUAL else f", {self.size.value} dose"
        return f"{self.drug[:1].upper()}{self.drug[1:]} {self.purpose}{size}"


def dose_of(
    drug: Drug,
    weight_kg: int | Decimal | None,
    *,
    adults: Adults = THIS_FORMULARY,
    height_cm: int | Decimal | None = None,
    sex: Sex | None = None,
    indication: str | None = None,
    size: Size = Size.USUAL,
) -> DoseAnswer:
    """The dose of a drug and the volume that holds it.

    The weight is the total one; it may be None for a fixed dose only. `adults` is the formulary's
    own, `indication` the id of one of the drug's, the first when None.
    Raises NoDose when a figure is missing or is not an adult's, KeyError for an unknown indication.
    """
    use = drug.indication(indication)
    dose = use.dose
    rate: Decimal = getattr(dose, size.value)
    body = _Body(
        weight_kg=_within(weight_kg, adults.weight_kg, "weight", "kilogram", drug),
        height_cm=_within(height_cm, adults.height_cm, "height", "centimetre", drug),
        sex=sex,
    )
    weight: Decimal | None = None
    kind: WeightKind | None = None
    if isinstance(dose, DosePerKilogram):
        weight, kind, how = _weight_for(drug, dose, body, adults)
        wanted = Mass(rate * weight, dose.unit)
        per_kg = f"{plain(rate)} {dose.unit.value}/kg x {plain(weight)} kg = {wanted.written()}"
        steps = [how, per_kg] if how else [per_kg]
    else:
        wanted = Mass(rate, dose.unit)
        steps = [f"fixed dose {wanted.written()}"]

    maximum = Mass(dose.maximum.amount, dose.unit)
    capped = wanted.amount > maximum.amount
    given = maximum if capped else wanted
    if capped:
        steps.append(f"above the maximum, so {maximum.written()} ({dose.maximum.source})")

    concentration = drug.strength.concentration
    exact_ml = concentration.volume_ml(given)
    volume_ml = _drawn_up(exact_ml, drug.graduation_ml, concentration, maximum)
    rounded = volume_ml != exact_ml
    steps.append(
        f"{given.written()} at {concentration.written()} = "
        f"{plain(half_up(exact_ml, Decimal('0.0001')))} mL"
    )
    if rounded:
        drawn = concentration.mass_in(volume_ml, dose.unit).written()
        steps.append(f"to {plain(drug.graduation_ml)} mL: {plain(volume_ml)} mL, which is {drawn}")
    if not volume_ml:
        raise NoDose(f"No dose of {drug.called}: it is too small to draw up at this strength.")
    return DoseAnswer(
        drug_id=drug.id,
        drug=drug.called,
        purpose=use.purpose,
        route=use.route,
        size=size,
        weight_kg=weight,
        weight_kind=kind,
        dose=given,
        volume_ml=volume_ml,
        concentration=concentration,
        capped=capped,
        rounded=rounded,
        source=_source(dose),
        working="; ".join(steps),
        cautions=drug.cautions,
    )


def _within(
    figure: int | Decimal | None, span: Span, name: str, unit: str, drug: Drug
) -> Decimal | None:
    if figure is None:
        return None
    exact = Decimal(figure)
    if not span.holds(exact):
        raise NoDose(
            f"No dose of {drug.called}: I only know doses for a {name} from "
            f"{say_number(span.low)} to {say_number(span.high)} {unit}s."
        )
    return exact


def _weight_for(
    drug: Drug, dose: DosePerKilogram, body: _Body, adults: Adults
) -> tuple[Decimal, WeightKind, str]:
    """The weight that the dose goes by, of which kind it is, and how it was worked out."""
    kind = dose.goes_by
    if body.weight_kg is None:
        raise NoDose(f"No dose of {drug.called}: I do not know the weight.")
    if not kind.needs_height_and_sex:
        return body.weight_kg, kind, ""
    if body.height_cm is None or body.sex is None:
        missing = {"the height": body.height_cm, "the sex": body.sex}
        names = " or ".join(name for name, known in missing.items() if known is None)
        raise NoDose(
            f"No dose of {drug.called}: it goes by {kind.value} weight here, and I do not know "
            f"{names}."
        )
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


def _drawn_up(
    exact_ml: Decimal, graduation_ml: Decimal, concentration: Concentration, maximum: Mass
) -> Decimal:
    """The nearest mark of the syringe that does not hold more than the maximum."""
    nearest_ml = half_up(exact_ml, graduation_ml)
    if concentration.mass_in(nearest_ml, maximum.unit).amount <= maximum.amount:
        return nearest_ml
    return (exact_ml / graduation_ml).quantize(Decimal(1), ROUND_DOWN) * graduation_ml


def _audible(mass: Mass) -> Mass:
    step = Decimal("0.1") if mass.amount >= 10 else Decimal("0.01")
    return Mass(half_up(mass.amount, step), mass.unit)


def _source(dose: Dose) -> str:
    text = f"{dose.published.source} ({dose.published.status.value})"
    return text if dose.reason is None else f"{text}; the site's reason: {dose.reason}"
