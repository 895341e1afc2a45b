"""How far the figure of a dose is said, wherever it is: when it is told, summed up, and in."""

from decimal import ROUND_HALF_UP, Decimal


def audible(amount: Decimal) -> Decimal:
    """From ten on to a tenth, below ten to a hundredth; an exact half goes up."""
    step = Decimal("0.1") if amount >= 10 else Decimal("0.01")
    return (amount / step).quantize(Decimal(1), ROUND_HALF_UP) * step
