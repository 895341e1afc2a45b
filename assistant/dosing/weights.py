"""The weights a dose may go by, and their published formulas. Adults only.

Weights and heights are exact decimals in kilograms and centimetres.
"""

from decimal import Decimal
from enum import Enum

CM_PER_INCH = Decimal("2.54")
HALF_MAN_KG = {"male": Decimal(50), "female": Decimal("45.5")}
"""Weight at 60 inches (152.4 cm), common to the ideal and the predicted weight."""


class Sex(Enum):
    """As the formulas distinguish it."""

    MALE = "male"
    FEMALE = "female"


class WeightKind(Enum):
    """Which weight a dose goes by."""

    TOTAL = "total"
    """As measured or told: actual weight."""
    IDEAL = "ideal"
    LEAN = "lean"
    ADJUSTED = "adjusted"
    PREDICTED = "predicted"

    @property
    def needs_height_and_sex(self) -> bool:
        """Whether more than the total weight must be known."""
        return self is not WeightKind.TOTAL


def body_mass_index(weight_kg: Decimal, height_cm: Decimal) -> Decimal:
    """Kilograms per square metre."""
    return weight_kg / (height_cm / 100) ** 2


LEAST_BMI, MOST_BMI = Decimal(12), Decimal(70)
"""Outside of these hardly anybody lives: a weight or a height was misheard (common practice)."""


def is_likely_body(weight_kg: Decimal, height_cm: Decimal) -> bool:
    """Whether somebody may well have both."""
    return LEAST_BMI <= body_mass_index(weight_kg, height_cm) <= MOST_BMI


def predicted_weight_kg(height_cm: Decimal, sex: Sex) -> Decimal:
    """Predicted body weight, centimetre form (ARDS Network, N Engl J Med 2000;342:1301-8)."""
    return HALF_MAN_KG[sex.value] + Decimal("0.91") * (height_cm - Decimal("152.4"))


def ideal_weight_kg(height_cm: Decimal, sex: Sex) -> Decimal:
    """Ideal body weight by Devine's formula, inch form (Drug Intell Clin Pharm 1974;8:650-5).

    About 0.1 kg below the predicted weight at 180 cm: 2.3 kg an inch are not quite 0.91 kg a
    centimetre.
    """
    return HALF_MAN_KG[sex.value] + Decimal("2.3") * (height_cm / CM_PER_INCH - 60)


def lean_weight_kg(weight_kg: Decimal, height_cm: Decimal, sex: Sex) -> Decimal:
    """Lean body weight (Quantification of lean bodyweight, Clin Pharmacokinet 2005;44:1051-65)."""
    index = body_mass_index(weight_kg, height_cm)
    if sex is Sex.MALE:
        return 9270 * weight_kg / (6680 + 216 * index)
    return 9270 * weight_kg / (8780 + 244 * index)


def adjusted_weight_kg(weight_kg: Decimal, height_cm: Decimal, sex: Sex) -> Decimal:
    """Ideal weight and two fifths of what lies above it (AAGBI/SOBA, Anaesthesia 2015;70:859-76).

    The factor 0.4 is from memory.
    """
    ideal = ideal_weight_kg(height_cm, sex)
    return ideal + Decimal("0.4") * (weight_kg - ideal)


def scaled_weight_kg(kind: WeightKind, weight_kg: Decimal, height_cm: Decimal, sex: Sex) -> Decimal:
    """The weight of one kind, unrounded."""
    match kind:
        case WeightKind.TOTAL:
            return weight_kg
        case WeightKind.IDEAL:
            return ideal_weight_kg(height_cm, sex)
        case WeightKind.LEAN:
            return lean_weight_kg(weight_kg, height_cm, sex)
        case WeightKind.ADJUSTED:
            return adjusted_weight_kg(weight_kg, height_cm, sex)
        case WeightKind.PREDICTED:
            return predicted_weight_kg(height_cm, sex)
