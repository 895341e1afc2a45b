"""What a volume is drawn up from and into: how many vials, which syringe, how fast a pump."""

from decimal import ROUND_CEILING, Decimal

from assistant.dosing.preparations import Preparation
from assistant.dosing.units import Quantity, amount_in

SYRINGES_ML = (1, 3, 5, 10, 20, 30, 60)
"""The usual sizes (common practice, no source)."""
FASTEST_PUMP_ML_PER_H = 200
"""Of a drug in a syringe or small bag; this project's own limit, no source."""


def vials_needed(preparation: Preparation, volume: Quantity) -> int | None:
    """How many are opened for a volume; None for an infusion, and where it is not stated."""
    recipe = preparation.recipe
    holds = preparation.vial
    if recipe is not None and recipe.powder is not None:
        holds = recipe.make_up_to
    if holds is None or preparation.pump_step is not None:
        return None
    share = amount_in(volume, "mL") / holds.amount
    return int(share.quantize(Decimal(1), ROUND_CEILING))


def syringe_ml(preparation: Preparation, volume: Quantity) -> int | None:
    """The smallest usual syringe that holds it; None for an infusion, and where none does."""
    if preparation.pump_step is not None:
        return None
    volume_ml = amount_in(volume, "mL")
    return next((size for size in SYRINGES_ML if volume_ml <= size), None)


def too_fast(preparation: Preparation, volume: Quantity) -> bool:
    """Whether a pump would have to run faster than is usual."""
    of_a_pump = preparation.pump_step is not None
    return of_a_pump and amount_in(volume, "mL/h") > FASTEST_PUMP_ML_PER_H
