"""Doses as they come out of a syringe or a pump: too much, too fast, or too coarse for it."""

from collections.abc import Iterator
from decimal import Decimal

from assistant.dosing.answers import MOST_ROUNDING
from assistant.dosing.checks import coarsest_step, volume_of
from assistant.dosing.drawing_up import FASTEST_PUMP_ML_PER_H, MOST_MARKS, step_of
from assistant.dosing.drugs import Drug, Indication
from assistant.dosing.formulary import Formulary, doses_of
from assistant.dosing.preparations import LARGEST_SYRINGE_ML
from assistant.dosing.stated import Figure
from assistant.dosing.units import half_up, plain
from assistant.dosing.weights import WeightKind

USUAL_KG = 70


def unhandy(
    drug: Drug, use: Indication, formulary: Formulary
) -> Iterator[tuple[str, tuple[int | str, ...], str, str]]:
    """Volumes that no syringe holds, rates that no syringe pump keeps up, marks that none has.

    Each as the place by ids, the location, what was found and what is allowed.
    """
    preparation, rate, adults = drug.preparation(use), use.dose.infusion, formulary.adults
    largest = FASTEST_PUMP_ML_PER_H if rate else LARGEST_SYRINGE_ML
    heaviest = volume_of(at_most(use, use.dose.usual, adults.weight_kg.high), preparation.strength)
    unit = preparation.step.unit
    if heaviest > largest:
        allowed = f"a usual dose of at most {largest} {unit} at {adults.weight_kg.high} kg"
        found = f"{plain(half_up(heaviest, Decimal('0.1')))} {unit}"
        yield "/volume", ("dose", "usual"), found, allowed
    own, coarsest = preparation.step.amount, coarsest_step(use, preparation, adults)
    marks = volume_of(use.dose.high.at(USUAL_KG), preparation.strength) / own
    # Finer ones only where the smallest dose wants them: no coarser marks of a syringe would do.
    too_fine = any(own < one.marks.amount <= coarsest for one in formulary.syringes)
    if not rate and marks > MOST_MARKS and too_fine:
        loc = ("preparations", drug.preparations.index(preparation), "graduation")
        allowed = f"coarser marks: {use.dose.high} at {USUAL_KG} kg would be {round(marks)} of them"
        yield "/graduation", loc, str(preparation.step), allowed


def at_most(use: Indication, dose: Figure, weight_kg: int) -> Figure:
    """The dose at a weight, cut to the maximum as it would be given."""
    given, most = dose.at(weight_kg), use.maximum.most.at(weight_kg)
    return most if given.quantity > most.quantity else given


def remarks(formulary: Formulary) -> Iterator[str]:
    """What `check` says of doses that are allowed, and that a second person should look at."""
    for drug in formulary.drugs:
        for use in drug.indications:
            called = f"{drug.called} {use.purpose}"
            if use.dose.goes_by not in (None, WeightKind.TOTAL):
                yield f"Goes by another weight than the total: {called}, {use.dose.usual}"
            yield from _rounding(drug, use, formulary, called)
            yield from _mixed_twice(drug, use, formulary, called)
            heaviest = at_most(use, use.dose.high, formulary.adults.weight_kg.high)
            volume = volume_of(heaviest, drug.preparation(use).strength)
            if use.dose.infusion and volume > FASTEST_PUMP_ML_PER_H:
                rate = f"{plain(half_up(volume, Decimal(1)))} mL/h"
                yield f"Fast for a pump: {called}, high dose of the heaviest adult, {rate}"


def _mixed_twice(drug: Drug, use: Indication, formulary: Formulary, called: str) -> Iterator[str]:
    """A usual dose that one mixture does not hold."""
    preparation, recipe = drug.preparation(use), drug.preparation(use).recipe
    if recipe is None or use.dose.infusion:
        return
    heaviest = at_most(use, use.dose.usual, formulary.adults.weight_kg.high)
    volume = volume_of(heaviest, preparation.strength)
    if recipe.powder is None and volume > recipe.make_up_to.amount:
        needs = f"{plain(half_up(volume, Decimal('0.1')))} mL"
        of_how_much = f"{needs} of {recipe.make_up_to} each"
        yield f"More than one mix: {called}, usual dose of the heaviest adult, {of_how_much}"


def _rounding(drug: Drug, use: Indication, formulary: Formulary, called: str) -> Iterator[str]:
    preparation = drug.preparation(use)
    low_figures = [one.low for one in doses_of(use)]
    lightest_kg = formulary.adults.weight_kg.low
    smallest = min(low_figures, key=lambda low: low.quantity).at(lightest_kg)
    volume = volume_of(smallest, preparation.strength)
    step = step_of(preparation, volume, formulary.syringes)
    # A fixed dose is rounded by what it is; by weight, some weight falls between two marks.
    by = step / 2 if use.dose.per_kilogram else abs(half_up(volume, step) - volume)
    if by / volume > MOST_ROUNDING:
        percent = half_up(100 * by / volume, Decimal("0.1"))
        to = f"{plain(step)} {preparation.step.unit}"
        yield f"Rounded by up to {plain(percent)} %: {called}, {smallest}, to {to}"
