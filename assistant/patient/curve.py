"""The oxyhaemoglobin dissociation curve by the Severinghaus equation.

Simple, accurate equations for human blood O2 dissociation computations, J Appl Physiol
1979;46:599-602: standard human blood, 37 degrees, pH 7.40, with a stated fit within 0.55 points of
saturation.
"""

import math


def saturation(po2_mmhg: float) -> float:
    """Equation 1: the saturation, 0 … 1, at an oxygen tension of 0 or more."""
    if po2_mmhg <= 0:
        return 0.0
    return 1 / (23_400 / (po2_mmhg**3 + 150 * po2_mmhg) + 1)


def po2_mmhg(saturation: float) -> float:
    """The exact inverse of equation 1, for a saturation from 0 up to, and not reaching, 1.

    It is the one real root of P^3 + 150 P = 23400 S / (1 - S). (The paper's own equation 2 is an
    approximation that differs by up to 0.7 mmHg.)
    """
    if not 0 <= saturation < 1:
        raise ValueError(f"a saturation from 0 up to 1 has an oxygen tension, not {saturation}")
    half = 23_400 * saturation / (1 - saturation) / 2
    root = math.sqrt(half**2 + 50**3)
    return math.cbrt(half + root) + math.cbrt(half - root)
