"""Units: the factor of a thousand, and how figures are written and said."""

from decimal import Decimal

import pytest

from assistant.dosing.units import Concentration, Mass, MassUnit, half_up, plain, say_quantity

MG, MCG = MassUnit.MG, MassUnit.MCG


def mass(amount: str, unit: MassUnit) -> Mass:
    """A mass from its written amount."""
    return Mass(Decimal(amount), unit)


def test_fifty_micrograms_are_the_labels_millilitre() -> None:
    """The fentanyl label's identity: 50 mcg = 0.05 mg = 1 mL."""
    assert mass("50", MCG).to(MG) == mass("0.05", MG)
    assert Concentration(mass("50", MCG)).volume_ml(mass("0.05", MG)) == 1


def test_the_labels_volume_per_kilogram() -> None:
    """2 mcg/kg of fentanyl are 0.04 mL/kg (its US label, section 2.2, table 1)."""
    assert Concentration(mass("50", MCG)).volume_ml(mass("2", MCG)) == Decimal("0.04")


def test_a_volume_holds_what_was_put_into_it() -> None:
    """Phenylephrine 10 mg in 100 mL are 100 mcg/mL (its US label, section 2)."""
    assert Concentration(mass("0.1", MG)).mass_in(Decimal(1), MCG) == mass("100", MCG)


@pytest.mark.parametrize(
    ("amount", "text"),
    [("84.0", "84"), ("0.50", "0.5"), ("100", "100"), ("1E+2", "100"), ("7.560", "7.56")],
)
def test_written_figures(amount: str, text: str) -> None:
    """A leading zero always, a trailing zero never (rule for written doses, NCC MERP)."""
    assert plain(Decimal(amount)) == text
    assert mass(amount, MG).written() == f"{text} mg"


def test_singular_and_plural() -> None:
    """Only exactly one is singular."""
    assert say_quantity(Decimal(1), "millilitre") == "one millilitre"
    assert say_quantity(Decimal("1.0"), "millilitre") == "one millilitre"
    assert say_quantity(Decimal("0.5"), "millilitre") == "zero point five millilitres"
    assert Concentration(mass("1", MG)).spoken() == "one milligram per millilitre"
    assert Concentration(mass("50", MCG)).written() == "50 mcg/mL"


def test_halves_go_up() -> None:
    """An exact half goes to the higher mark, not to the even one."""
    assert half_up(Decimal("5.25"), Decimal("0.1")) == Decimal("5.3")
    assert half_up(Decimal("10.25"), Decimal("0.5")) == Decimal("10.5")
    assert half_up(Decimal("7.29"), Decimal("0.2")) == Decimal("7.2")
