"""The weight formulas, against the figures that were published with them or follow from them."""

from decimal import Decimal

import pytest

from assistant.dosing.units import half_up
from assistant.dosing.weights import (
    Sex,
    WeightKind,
    adjusted_weight_kg,
    body_mass_index,
    ideal_weight_kg,
    lean_weight_kg,
    predicted_weight_kg,
    scaled_weight_kg,
)

M, F = Sex.MALE, Sex.FEMALE


def to_step(figure: Decimal, step: str) -> Decimal:
    """Rounded as the reference is printed."""
    return half_up(figure, Decimal(step))


@pytest.mark.parametrize(
    ("sex", "height_cm", "tidal_ml_at_6"),
    [(M, 173, "412.476"), (M, 205, "587.196")],
)
def test_predicted_weight_gives_the_published_tidal_volumes(
    sex: Sex, height_cm: int, tidal_ml_at_6: str
) -> None:
    """Worked examples printed to a microlitre in public notes on the ARDS Network formula."""
    assert 6 * predicted_weight_kg(Decimal(height_cm), sex) == Decimal(tidal_ml_at_6)


@pytest.mark.parametrize(
    ("sex", "height_cm", "weight_kg"),
    [(M, "180", "75.116"), (F, "165", "56.966"), (M, "152.4", "50"), (F, "152.4", "45.5")],
)
def test_predicted_weight_in_centimetres(sex: Sex, height_cm: str, weight_kg: str) -> None:
    """50 or 45.5 + 0.91 (cm - 152.4), N Engl J Med 2000;342:1301-8, worked by hand."""
    assert predicted_weight_kg(Decimal(height_cm), sex) == Decimal(weight_kg)


@pytest.mark.parametrize(
    ("inches", "female_kg", "male_kg"),
    [
        (55, "34.0", "38.5"),
        (60, "45.5", "50.0"),
        (64, "54.7", "59.2"),
        (68, "63.9", "68.4"),
        (70, "68.5", "73.0"),
        (74, "77.7", "82.2"),
    ],
)
def test_ideal_weight_in_inches(inches: int, female_kg: str, male_kg: str) -> None:
    """Rows of the card that the ARDS Network printed, in the inch form (Devine's)."""
    height_cm = inches * Decimal("2.54")
    assert ideal_weight_kg(height_cm, F) == Decimal(female_kg)
    assert ideal_weight_kg(height_cm, M) == Decimal(male_kg)


def test_the_two_forms_differ_as_much_as_they_must() -> None:
    """A man of 180 cm: 75.116 kg by the centimetre form and 74.992 by the inch form."""
    height_cm = Decimal(180)
    assert to_step(ideal_weight_kg(height_cm, M), "0.001") == Decimal("74.992")
    assert to_step(predicted_weight_kg(height_cm, M), "0.001") == Decimal("75.116")


@pytest.mark.parametrize(
    ("sex", "weight_kg", "height_cm", "lean_kg"),
    [
        (M, 110, 178, "71.92"),
        (M, 120, 170, "71.09"),
        (F, 100, 165, "52.25"),
        (M, 150, 180, "83.36"),
        (M, 70, 170, "54.48"),
    ],
)
def test_lean_weight(sex: Sex, weight_kg: int, height_cm: int, lean_kg: str) -> None:
    """Quantification of lean bodyweight, Clin Pharmacokinet 2005;44:1051-65, worked by hand.

    The first row is the example of a public calculator, which prints 74 kg against its own formula.
    """
    lean = lean_weight_kg(Decimal(weight_kg), Decimal(height_cm), sex)
    assert to_step(lean, "0.01") == Decimal(lean_kg)


@pytest.mark.parametrize(
    ("sex", "weight_kg", "height_cm", "adjusted_kg"),
    [(M, 120, 170, "87.56"), (F, 100, 165, "74.15")],
)
def test_adjusted_weight(sex: Sex, weight_kg: int, height_cm: int, adjusted_kg: str) -> None:
    """Ideal weight and 0.4 of the rest (AAGBI/SOBA 2015; the factor from memory), by hand.

    170 cm are 66.929 inches: 50 + 2.3 * 6.929 = 65.937, and 0.4 * (120 - 65.937) = 21.625.
    """
    adjusted = adjusted_weight_kg(Decimal(weight_kg), Decimal(height_cm), sex)
    assert to_step(adjusted, "0.01") == Decimal(adjusted_kg)


def test_body_mass_index() -> None:
    """Kilograms per square metre: 110 kg at 178 cm are 34.72."""
    assert to_step(body_mass_index(Decimal(110), Decimal(178)), "0.01") == Decimal("34.72")


def test_each_kind_has_its_own_formula() -> None:
    """Of one obese man, by hand as above: 50 + 0.91 * (170 - 152.4) = 66.016 predicted."""
    by_kind = {
        kind.value: to_step(scaled_weight_kg(kind, Decimal(120), Decimal(170), M), "0.01")
        for kind in WeightKind
    }
    assert by_kind == {
        "total": Decimal(120),
        "ideal": Decimal("65.94"),
        "lean": Decimal("71.09"),
        "adjusted": Decimal("87.56"),
        "predicted": Decimal("66.02"),
    }
