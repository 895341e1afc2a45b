"""A number in the parts that every language says apart."""

from decimal import Decimal


def split_decimal(number: int | Decimal) -> tuple[int, str]:
    """The whole part, and the digits after the point without trailing zeros: 8.40 as (8, "4").

    Raises ValueError below zero and from a million on, where no language here has words.
    """
    if not 0 <= number < 1_000_000:
        raise ValueError(f"only numbers from 0 up to a million have words here, not {number}")
    whole, _, fraction = f"{number:f}".partition(".")
    return int(whole), fraction.rstrip("0")
