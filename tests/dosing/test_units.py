"""Units: the factor of a thousand, and how figures are written and said."""

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dosing.stated import DOSES, ROOM
from assistant.dosing.units import (
    amount_in,
    half_up,
    plain,
    quantity,
    spoken,
    to_unit,
    whole_centimetres,
    whole_kilograms,
    written,
)


def test_fifty_micrograms_are_the_labels_millilitre() -> None:
    """The fentanyl label's identity: 50 mcg = 0.05 mg = 1 mL."""
    assert to_unit(quantity(50, "mcg"), "mg") == quantity(Decimal("0.05"), "mg")
    volume = quantity(Decimal("0.05"), "mg") / quantity(50, "mcg/mL")
    assert amount_in(volume, "mL") == 1


def test_the_labels_volume_per_kilogram() -> None:
    """2 mcg/kg of fentanyl are 0.04 mL/kg (its US label, section 2.2, table 1)."""
    volume = quantity(2, "mcg/kg") / quantity(50, "mcg/mL")
    assert amount_in(volume, "mL/kg") == Decimal("0.04")


@pytest.mark.parametrize(
    ("rate", "weight_kg", "strength", "ml_per_h"),
    [(10, 70, 1, 42), (10, 70, Decimal("0.5"), 84)],
)
def test_rates_become_millilitres_per_hour(
    rate: int, weight_kg: int, strength: int | Decimal, ml_per_h: int
) -> None:
    """Rocuronium 10 mcg/kg/min at 70 kg: 42 mL/h of 1 mg/mL, exactly, worked by hand."""
    given_rate = quantity(rate, "mcg/kg/min") * quantity(weight_kg, "kg")
    assert amount_in(given_rate / quantity(strength, "mg/mL"), "mL/h") == ml_per_h


def test_every_unit_is_what_it_is_elsewhere() -> None:
    """Ours are few: each has pint's own name for it and comes to exactly as much as pint's own."""
    whole = pint.UnitRegistry(non_int_type=Decimal)
    measured = {*DOSES, *ROOM, "mg/mL", "mcg/mL", "mL/h", "kg", "lb", "inch", "h"}
    for unit in (one.removeprefix("/") for one in measured):
        both = quantity(7, unit), whole.Quantity(Decimal(7), unit)
        ours, theirs = (
            (str(one.units), str(one.to_root_units().units), one.to_root_units().magnitude)
            for one in both
        )
        assert ours == theirs


def test_what_does_not_measure_is_an_error() -> None:
    """A mass is no volume."""
    with pytest.raises(pint.DimensionalityError):
        amount_in(quantity(1, "mg"), "mL")


@given(
    st.decimals("0.001", "100000", places=3),
    st.sampled_from(
        [("mg", "mcg"), ("mg/h", "mcg/min"), ("mg/kg/h", "mcg/kg/min"), ("mg/mL", "mcg/mL")]
    ),
)
def test_units_round_trip(amount: Decimal, units: tuple[str, str]) -> None:
    """There and back is exactly the same decimal."""
    one, other = units
    assert amount_in(to_unit(quantity(amount, one), other), one) == amount


# 1 lb = 0.45359237 kg and 1 inch = 2.54 cm by definition (international yard and pound, 1959).
@pytest.mark.parametrize(
    ("pounds", "kilograms"), [(66, 30), (154, 70), (160, 73), (220, 100), (441, 200)]
)
def test_pounds(pounds: int, kilograms: int) -> None:
    """To the nearest whole kilogram."""
    assert whole_kilograms(pounds) == kilograms
    assert abs(pounds * Decimal("0.45359237") - kilograms) <= Decimal("0.5")


@pytest.mark.parametrize(("inches", "centimetres"), [(60, 152), (68, 173), (72, 183), (75, 191)])
def test_inches(inches: int, centimetres: int) -> None:
    """To the nearest whole centimetre, an exact half going up."""
    assert whole_centimetres(inches) == centimetres


@pytest.mark.parametrize(
    ("amount", "text"),
    [("84.0", "84"), ("0.50", "0.5"), ("100", "100"), ("1E+2", "100"), ("7.560", "7.56")],
)
def test_written_figures(amount: str, text: str) -> None:
    """A leading zero always, a trailing zero never (rule for written doses, NCC MERP)."""
    assert plain(Decimal(amount)) == text
    assert written(quantity(Decimal(amount), "mg")) == f"{text} mg"


@pytest.mark.parametrize(
    ("unit", "short", "said"),
    [
        ("mcg/mL", "50 mcg/mL", "fifty micrograms per millilitre"),
        ("mg/h", "50 mg/h", "fifty milligrams per hour"),
        ("mcg/kg/min", "50 mcg/kg/min", "fifty micrograms per kilogram per minute"),
        ("mg/kg/h", "50 mg/kg/h", "fifty milligrams per kilogram per hour"),
        ("mL/h", "50 mL/h", "fifty millilitres per hour"),
        ("bar", "50 bar", "fifty bar"),
    ],
)
def test_units_as_the_trade_says_them(unit: str, short: str, said: str) -> None:
    """mcg and never the Greek letter (ISMP); per kilogram before per hour."""
    assert written(quantity(50, unit)) == short
    assert spoken(quantity(50, unit)) == said


def test_singular_and_plural() -> None:
    """Only exactly one is singular."""
    assert spoken(quantity(1, "mL")) == "one millilitre"
    assert spoken(quantity(Decimal("1.0"), "mL")) == "one millilitre"
    assert spoken(quantity(Decimal("0.5"), "mL")) == "zero point five millilitres"
    assert spoken(quantity(1, "mg/mL")) == "one milligram per millilitre"


def test_halves_go_up() -> None:
    """An exact half goes to the higher mark, not to the even one."""
    assert half_up(Decimal("5.25"), Decimal("0.1")) == Decimal("5.3")
    assert half_up(Decimal("10.25"), Decimal("0.5")) == Decimal("10.5")
    assert half_up(Decimal("7.29"), Decimal("0.2")) == Decimal("7.2")
