"""Figures as a site writes them: a number with its unit and, per kilogram, the weight it goes by.

"1.2 mg/kg total weight", "0.6 to 1.2 mg/kg total weight", "10 mg/mL", "8 mcg/min". Two figures are
compared as quantities; those of different kinds (per another weight, a rate and an amount) never.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, TypeAlias

from pydantic import PlainValidator, WithJsonSchema

from assistant.dosing.units import Quantity, plain, quantity
from assistant.dosing.weights import WeightKind

AMOUNTS = ("mg", "mcg", "mg/kg", "mcg/kg")
RATES = ("mg/h", "mcg/h", "mg/min", "mcg/min")
RATES_PER_KG = ("mg/kg/h", "mcg/kg/h", "mg/kg/min", "mcg/kg/min")
DOSES = (*AMOUNTS, *RATES, *RATES_PER_KG)
ROOM = ("mL/kg", "/min", "cmH2O", "%", "mm", "cm", "L", "bar", "s", "min")
"""What else is measured in the room: breaths, pressures, tubes, cylinders, times."""

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_FORM = re.compile(rf"({_NUMBER})(?: to ({_NUMBER}))? (\S+)(?: ([a-z]+) weight)?")
_WEIGHTS = {kind.value: kind for kind in WeightKind}


@dataclass(frozen=True, slots=True)
class Figure:
    """One number with its unit."""

    amount: Decimal
    unit: str
    """As it is written: "mcg/kg/min"."""
    weight: WeightKind | None = None
    """Which weight the kilograms of the unit are of; None for a unit without them."""

    def __str__(self) -> str:
        return f"{plain(self.amount)} {self.measured_in}"

    @property
    def measured_in(self) -> str:
        """The unit, and the weight that it goes by: "mg/kg total weight"."""
        return self.unit if self.weight is None else f"{self.unit} {self.weight.value} weight"

    @property
    def quantity(self) -> Quantity:
        """For the units library, in which a kilogram of each weight is a unit of its own."""
        unit = f"1{self.unit}" if self.unit.startswith("/") else self.unit
        if self.weight is not None:
            unit = unit.replace("/kg", f"/kilogram_of_{self.weight.value}_weight")
        return quantity(self.amount, unit)

    def is_like(self, other: "Figure") -> bool:
        """Whether both measure the same: by the same weight, both rates or both amounts."""
        return bool(self.quantity.is_compatible_with(other.quantity))

    def times(self, factor: Decimal | int) -> "Figure":
        """So many times as much."""
        return Figure(self.amount * factor, self.unit, self.weight)

    def at(self, weight_kg: Decimal | int) -> "Figure":
        """What it comes to at a weight; itself when it goes by none."""
        if self.weight is None:
            return self
        return Figure(self.amount * weight_kg, self.unit.replace("/kg", ""))


@dataclass(frozen=True, slots=True)
class Range:
    """From low to high in one unit, both included."""

    low: Figure
    high: Figure

    def __str__(self) -> str:
        if self.low == self.high:
            return str(self.high)
        return f"{plain(self.low.amount)} to {self.high}"

    def holds(self, figure: Figure) -> bool:
        """Whether the figure is of the same kind and lies within."""
        within = self.low.is_like(figure) and self.low.quantity <= figure.quantity
        return bool(within and figure.quantity <= self.high.quantity)

    def widened(self, factor: Decimal) -> "Range":
        """The low end divided by the factor, the high end multiplied."""
        return Range(self.low.times(1 / factor), self.high.times(factor))


def figure(text: str, units: tuple[str, ...] = DOSES) -> Figure:
    """A figure as it is written, in one of the units. Raises ValueError, which says what may be."""
    found = _taken_apart(text, units)
    if found.low is not found.high:
        raise ValueError(f"one number with its unit: {' or '.join(units)}")
    return found.low


def range_of(text: str, units: tuple[str, ...] = (*DOSES, *ROOM)) -> Range:
    """A range as it is written, "1 to 2 mg"; of a single figure, that one. Raises ValueError."""
    return _taken_apart(text, units)


def _taken_apart(text: object, units: tuple[str, ...]) -> Range:
    form = f"a number with its unit ({' or '.join(units)}), such as {_example(units)!r}"
    parts = _FORM.fullmatch(text) if isinstance(text, str) else None
    if parts is None:
        raise ValueError(form)
    low, high, unit, weight = parts.groups()
    if unit not in units:
        raise ValueError(f"the unit {' or '.join(units)}")
    if ("/kg" in unit) != (weight is not None) or (weight and weight not in _WEIGHTS):
        which = "total, ideal, lean, adjusted or predicted weight"
        raise ValueError(f"{unit} {which}" if "/kg" in unit else f"{unit} without a weight")
    kind = _WEIGHTS.get(weight)
    one = Figure(Decimal(low), unit, kind)
    other = one if high is None else Figure(Decimal(high), unit, kind)
    if not one.amount > 0 or other.amount < one.amount:
        raise ValueError("numbers above zero, the lower one first")
    return Range(one, other)


def _example(units: tuple[str, ...]) -> str:
    unit = units[-1] if "mg/kg" not in units else "mg/kg"
    return f"2 {unit} total weight" if "/kg" in unit else f"2 {unit}"


def _written_in(*units: str) -> Any:
    form = f"a number with its unit: {', '.join(units)}"
    return (
        PlainValidator(lambda text: _one(text, units)),
        WithJsonSchema({"type": "string", "form": form}),
    )


def _one(text: object, units: tuple[str, ...]) -> Figure:
    if isinstance(text, Figure):
        return text
    return figure(text, units)  # type: ignore[arg-type]  # what is no text is refused there


def _between(text: object, units: tuple[str, ...]) -> Range:
    if isinstance(text, Range):
        return text
    return range_of(text, units)  # type: ignore[arg-type]


DoseFigure: TypeAlias = Annotated[Figure, *_written_in(*DOSES)]
StrengthFigure: TypeAlias = Annotated[Figure, *_written_in("mg/mL", "mcg/mL")]
MassFigure: TypeAlias = Annotated[Figure, *_written_in("mg", "mcg")]
VolumeFigure: TypeAlias = Annotated[Figure, *_written_in("mL")]
PumpFigure: TypeAlias = Annotated[Figure, *_written_in("mL/h")]
RoomFigure: TypeAlias = Annotated[Figure, *_written_in(*ROOM)]
LitresFigure: TypeAlias = Annotated[Figure, *_written_in("L")]
BarFigure: TypeAlias = Annotated[Figure, *_written_in("bar")]


def _ranging(*units: str) -> Any:
    form = f"two numbers with their unit, such as `1 to 2 {units[-1]}`"
    return (
        PlainValidator(lambda text: _between(text, units)),
        WithJsonSchema({"type": "string", "form": form}),
    )


AnyRange: TypeAlias = Annotated[Range, *_ranging(*ROOM, *DOSES[4:], *DOSES[:4])]
OnsetRange: TypeAlias = Annotated[Range, *_ranging("s")]
LastsRange: TypeAlias = Annotated[Range, *_ranging("min")]
