"""Quantities with units, in exact decimals; and how they are said and written.

Units and their conversion are pint's, calculating in decimals throughout. Milligram and microgram
are written mg and mcg: the Greek letter is misread for an m (ISMP List of Error-Prone
Abbreviations).
"""

from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from functools import cache, lru_cache
from typing import Any, TypeAlias

import pint

from assistant.dosing.weights import WeightKind
from assistant.language.tongue import ENGLISH, Tongue

Quantity: TypeAlias = pint.Quantity[Decimal]

_UNITS = """
micro- = 1e-6 = µ- = u- = mc-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
kilo- = 1e3 = k-
gram = [mass] = g
grain = 64.79891 * milligram
pound = 7000 * grain = lb
meter = [length] = m
yard = 0.9144 * meter
inch = yard / 36
liter = decimeter ** 3 = L
second = [time] = s
minute = 60 * second = min
hour = 60 * minute = h
pascal = kilogram / meter / second ** 2
bar = 1e5 * pascal
meter_H2O = 9806.65 * pascal = mH2O
percent = 0.01 = %
"""
"""What the trade measures in, defined as by pint, which has a thousand units more: to read those
takes every start of the program longer than its imports."""
_REGISTRY: Any = pint.UnitRegistry(None, non_int_type=Decimal)
_REGISTRY.load_definitions(_UNITS.splitlines())
for _kind in WeightKind:
    # A kilogram of each kind of weight is a unit of its own, so that a dose by one of them is never
    # compared with, or multiplied by, another.
    _REGISTRY.define(f"kilogram_of_{_kind.value}_weight = [{_kind.value}_weight]")
_RESIDUE = Decimal("1e-12")
"""What a conversion through a third unit (an hour of sixty parts) may leave behind."""

_NAMES = {
    # The library's name: what is said, and what is written.
    "bar": ("bar", "bar"),
    "centimeter": ("centimetre", "cm"),
    "hour": ("hour", "h"),
    "kilogram": ("kilogram", "kg"),
    "liter": ("litre", "L"),
    "microgram": ("microgram", "mcg"),
    "milligram": ("milligram", "mg"),
    "milliliter": ("millilitre", "mL"),
    "minute": ("minute", "min"),
    "pound": ("pound", "lb"),
} | {f"kilogram_of_{kind.value}_weight": ("kilogram", "kg") for kind in WeightKind}


def quantity(amount: int | Decimal, unit: str) -> Quantity:
    """So much of a unit, which is written as in a formulary: "mg", "mcg/kg/min", "mg/mL"."""
    return _measured(str(amount), unit)


@lru_cache(maxsize=4096)  # a formulary's figures are compared with one another, thousands of times
def _measured(amount: str, unit: str) -> Quantity:
    """By the digits of the amount: "1.0" is as much as "1", and is not written alike."""
    measured: Quantity = _REGISTRY.Quantity(Decimal(amount), _unit(unit))
    return measured


@cache
def _unit(unit: str) -> Any:
    """The library's unit: reading its name takes it half a millisecond."""
    return _REGISTRY.Unit(unit)


def amount_in(measured: Quantity, unit: str) -> Decimal:
    """The number of those units. Raises pint.DimensionalityError when they do not measure it."""
    converted = Decimal(measured.to(unit).magnitude)
    rounded = converted.quantize(_RESIDUE)
    return rounded if abs(rounded - converted) < _RESIDUE else converted


def to_unit(measured: Quantity, unit: str) -> Quantity:
    """The same in another unit."""
    return quantity(amount_in(measured, unit), unit)


def whole_kilograms(pounds: int | Decimal) -> int:
    """A weight in pounds as the nearest whole number of kilograms."""
    return int(half_up(amount_in(quantity(pounds, "lb"), "kg"), Decimal(1)))


def whole_centimetres(inches: int | Decimal) -> int:
    """A height in inches as the nearest whole number of centimetres."""
    return int(half_up(amount_in(quantity(inches, "inch"), "cm"), Decimal(1)))


def written(measured: Quantity) -> str:
    """ "84 mg", "10 mg/mL", "0.1 mcg/kg/min"."""
    _, short = _unit_names(measured)
    return f"{plain(Decimal(measured.magnitude))} {'/'.join(short)}"


def spoken(measured: Quantity, tongue: Tongue = ENGLISH) -> str:
    """ "eighty-four milligrams", "ten milligrams per millilitre"."""
    return _said(measured, tongue, tongue.numbers.say_number)


def spoken_twice(measured: Quantity, tongue: Tongue = ENGLISH) -> str:
    """As `spoken`, with what is easily misheard in digits too: "fifteen, one five, milligrams"."""
    return _said(measured, tongue, tongue.numbers.say_twice)


def _said(measured: Quantity, tongue: Tongue, say: Callable[[int | Decimal], str]) -> str:
    amount = Decimal(measured.magnitude)
    (first, *rest), _ = _unit_names(measured)
    units = tongue.terms.units
    named = units.named(first).one if amount == 1 else units.named(first).many
    text = tongue.terms.quantity.format(number=say(amount), unit=named)
    for unit in rest:
        text = tongue.terms.per.format(amount=text, unit=units.named(unit).one)
    return text


def said_in(measured: Quantity, strength: Quantity) -> Quantity:
    """Less than a milligram in micrograms, where it comes from less than a milligram in each mL.

    "One hundred micrograms" and not "zero point one milligrams", of which a "zero point" is easily
    lost; the dose and the strength that it is given from in one unit.
    """
    weak, little = _in_micrograms(strength), _in_micrograms(measured)
    return measured if weak is None or little is None else little


def _in_micrograms(measured: Quantity) -> Quantity | None:
    """The same in micrograms; None for what is not in milligrams or not below one."""
    unit = str(measured.units)
    if not unit.startswith("milligram") or measured.magnitude >= 1:
        return None
    return to_unit(measured, unit.replace("milligram", "microgram", 1))


def plain(amount: Decimal) -> str:
    """In digits, with the leading zero and without trailing ones: "0.5", "84"."""
    text = f"{amount:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def half_up(amount: Decimal, step: Decimal) -> Decimal:
    """The nearest multiple of the step; an exact half goes up."""
    return (amount / step).quantize(Decimal(1), ROUND_HALF_UP) * step


def _unit_names(measured: Quantity) -> tuple[list[str], list[str]]:
    """What is said and what is written for each part of the unit, the numerator first."""
    first, *below = str(measured.units).split(" / ")
    # As clinicians say it: per kilogram per hour.
    per_kg_first = sorted(below, key=lambda one: not one.startswith("kilogram"))
    parts = [_NAMES[part] for part in (first, *per_kg_first)]
    return [said for said, _ in parts], [short for _, short in parts]
