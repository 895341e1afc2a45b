"""For whom a dose is worked out."""

from dataclasses import dataclass
from decimal import Decimal

from assistant.dosing.units import plain
from assistant.dosing.weights import Sex

FRAIL = "frail"
"""The feature of a site's brief by which a patient is known to be."""


@dataclass(frozen=True, slots=True)
class Patient:
    """What is known of a patient, each read back and confirmed; None for what is not known."""

    weight_kg: int | Decimal | None = None
    """Total weight."""
    height_cm: int | Decimal | None = None
    sex: Sex | None = None
    age_years: int | None = None
    low_pressure: bool = False
    frail: bool = False
    """As somebody told; nothing is concluded from the age."""

    def written(self) -> str:
        """Weight, height, sex and age, as far as they are known, in one line."""
        known = []
        if self.weight_kg is not None:
            known.append(f"weight {plain(Decimal(self.weight_kg))} kg")
        if self.height_cm is not None:
            known.append(f"height {plain(Decimal(self.height_cm))} cm")
        if self.sex is not None:
            known.append(self.sex.value)
        if self.age_years is not None:
            known.append(f"{self.age_years} years")
        if self.frail:
            known.append("frail")
        line = ", ".join(known)
        return f"{line[:1].upper()}{line[1:]}"
