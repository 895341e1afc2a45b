"""The short floating-point number of IEEE 11073-20601: four bits of exponent, twelve of mantissa.

Both are signed; the value is mantissa x 10^exponent. Five mantissas have a meaning of their own,
with the exponent 0 only.
"""

import math

NOT_A_NUMBER, NOT_AT_THIS_RESOLUTION, RESERVED = 0x07FF, 0x0800, 0x0801
INFINITE, MINUS_INFINITE = 0x07FE, 0x0802
SPECIAL = {
    NOT_A_NUMBER: math.nan,
    NOT_AT_THIS_RESOLUTION: math.nan,
    RESERVED: math.nan,
    INFINITE: math.inf,
    MINUS_INFINITE: -math.inf,
}


def sfloat(word: int) -> float:
    """The value of sixteen bits; NaN where they stand for no number."""
    if word in SPECIAL:
        return SPECIAL[word]
    exponent, mantissa = _signed(word >> 12, 4), _signed(word & 0xFFF, 12)
    # Divided, not multiplied by a fraction: 980 x 10^-1 is then exactly 98.
    return float(mantissa * 10**exponent if exponent >= 0 else mantissa / 10**-exponent)


def _signed(bits: int, width: int) -> int:
    return bits - (1 << width) if bits >> (width - 1) else bits
