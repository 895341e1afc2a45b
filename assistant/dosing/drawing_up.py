"""What a volume is drawn up from and into: how many vials, which syringe, how fast a pump."""

from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal
from itertools import pairwise

from pydantic import model_validator

from assistant.dosing.preparations import Preparation
from assistant.dosing.stated import Figure, VolumeFigure, figure
from assistant.dosing.units import Quantity, amount_in, plain
from assistant.files.yaml_files import SiteModel

FASTEST_PUMP_ML_PER_H = 200
"""Of a drug in a syringe or small bag; this project's own limit, no source."""
MOST_MARKS = 120
"""No syringe has more marks than a hundred; this project's own limit, no source."""
COARSEST_MARKS = Decimal("0.1")
"""Half a mark may be no more of the least volume of a syringe; this project's own limit."""


class Syringe(SiteModel):
    """One size of syringe that a site has, and its marks."""

    holds: VolumeFigure
    marks: VolumeFigure
    """From one of its marks to the next."""

    @model_validator(mode="after")
    def _countable(self) -> "Syringe":
        count = self.holds.amount / self.marks.amount
        if count != int(count) or not 1 < count <= MOST_MARKS:
            raise ValueError(f"marks that divide {self.holds} into whole steps, up to {MOST_MARKS}")
        return self


USUAL_SYRINGES = tuple(
    Syringe(holds=figure(f"{holds} mL", ("mL",)), marks=figure(f"{marks} mL", ("mL",)))
    for holds, marks in (
        *(("1", "0.01"), ("3", "0.1"), ("5", "0.2"), ("10", "0.2")),
        *(("20", "1"), ("30", "1"), ("60", "1")),
    )
)
"""The usual sizes and marks (common practice, no source)."""


def fault_of(syringes: Sequence[Syringe]) -> str | None:
    """What should be in a list of syringes that would round too much; None for a good one."""
    for less, more in pairwise(syringes):
        if more.holds.amount <= less.holds.amount:
            return "from the smallest to the largest, each size once"
        if more.marks.amount / 2 > COARSEST_MARKS * less.holds.amount:
            most = 2 * COARSEST_MARKS * less.holds.amount
            return f"marks of {plain(most)} mL and finer for {more.holds}, after {less.holds}"
    return None


def syringe_for(volume_ml: Decimal, syringes: Sequence[Syringe]) -> Syringe | None:
    """The smallest that holds a volume; the largest where none does, None where there is none."""
    held = (one for one in syringes if volume_ml <= one.holds.amount)
    return next(held, syringes[-1] if syringes else None)


def step_of(preparation: Preparation, exact: Decimal, syringes: Sequence[Syringe]) -> Decimal:
    """To what a volume in mL is rounded: the marks of the syringe that holds it.

    They are never finer than the preparation's own graduation. A rate has the pump's step.
    """
    own = preparation.step.amount
    if preparation.pump_step is not None:
        return own
    syringe = syringe_for(exact, syringes)
    return own if syringe is None else max(own, syringe.marks.amount)


def vials_needed(preparation: Preparation, volume: Quantity) -> int | None:
    """How many are opened for a volume; None for an infusion, and where it is not stated."""
    recipe = preparation.recipe
    holds = preparation.vial
    if recipe is not None and recipe.powder is not None:
        holds = recipe.make_up_to
    if holds is None or preparation.pump_step is not None:
        return None
    return _times(volume, holds)


def mixes_needed(preparation: Preparation, volume: Quantity) -> int | None:
    """How often it is mixed for a volume; None for an infusion, and for what is not mixed."""
    recipe = preparation.recipe
    if recipe is None or recipe.powder is not None or preparation.pump_step is not None:
        return None
    return _times(volume, recipe.make_up_to)


def _times(volume: Quantity, holds: Figure) -> int:
    share = amount_in(volume, "mL") / holds.amount
    return int(share.quantize(Decimal(1), ROUND_CEILING))


def syringe_ml(
    preparation: Preparation, volume: Quantity, syringes: Sequence[Syringe]
) -> Decimal | None:
    """The smallest syringe that holds it; None for an infusion, and where none does."""
    volume_ml = None if preparation.pump_step is not None else amount_in(volume, "mL")
    if volume_ml is None or (syringe := syringe_for(volume_ml, syringes)) is None:
        return None
    return syringe.holds.amount if volume_ml <= syringe.holds.amount else None


def too_fast(preparation: Preparation, volume: Quantity) -> bool:
    """Whether a pump would have to run faster than is usual."""
    of_a_pump = preparation.pump_step is not None
    return of_a_pump and amount_in(volume, "mL/h") > FASTEST_PUMP_ML_PER_H
