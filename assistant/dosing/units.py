"""Masses, strengths and how they are said and written; exact decimals throughout.

Milligram and microgram are spelt mg and mcg: the Greek letter is misread for an m (ISMP List of
Error-Prone Abbreviations).
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import Enum

from assistant.meaning.numbers import say_number


class MassUnit(Enum):
    """A unit of mass in which doses and strengths are given."""

    MG = "mg"
    MCG = "mcg"

    @property
    def spoken(self) -> str:
        """In the singular: "milligram"."""
        return {"mg": "milligram", "mcg": "microgram"}[self.value]

    @property
    def micrograms(self) -> int:
        """How many micrograms one of it is."""
        return {"mg": 1000, "mcg": 1}[self.value]


@dataclass(frozen=True, slots=True)
class Mass:
    """So much of a drug."""

    amount: Decimal
    unit: MassUnit

    def to(self, unit: MassUnit) -> "Mass":
        """The same mass in another unit."""
        return Mass(self.amount * self.unit.micrograms / unit.micrograms, unit)

    def spoken(self) -> str:
        """ "eighty-four milligrams"."""
        return say_quantity(self.amount, self.unit.spoken)

    def written(self) -> str:
        """ "84 mg"."""
        return f"{plain(self.amount)} {self.unit.value}"


@dataclass(frozen=True, slots=True)
class Concentration:
    """So much of a drug in every millilitre."""

    per_ml: Mass

    def volume_ml(self, mass: Mass) -> Decimal:
        """The volume that holds the mass, unrounded."""
        return mass.to(self.per_ml.unit).amount / self.per_ml.amount

    def mass_in(self, volume_ml: Decimal, unit: MassUnit) -> Mass:
        """What a volume holds."""
        return Mass(self.per_ml.amount * volume_ml, self.per_ml.unit).to(unit)

    def spoken(self) -> str:
        """ "ten milligrams per millilitre"."""
        return f"{self.per_ml.spoken()} per millilitre"

    def written(self) -> str:
        """ "10 mg/mL"."""
        return f"{self.per_ml.written()}/mL"


def plain(amount: Decimal) -> str:
    """In digits, with the leading zero and without trailing ones: "0.5", "84"."""
    text = f"{amount:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def half_up(amount: Decimal, step: Decimal) -> Decimal:
    """The nearest multiple of the step; an exact half goes up."""
    return (amount / step).quantize(Decimal(1), ROUND_HALF_UP) * step


def say_quantity(amount: Decimal, unit: str) -> str:
    """A number with its unit, which is given in the singular: "one milligram", "two litres"."""
    return f"{say_number(amount)} {unit}{'' if amount == 1 else 's'}"
