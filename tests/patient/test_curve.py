"""The dissociation curve against the table of the paper that gives it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.patient.curve import po2_mmhg, saturation

# fmt: off
TABLE_1 = {
    10: 9.58, 14: 16.89, 20: 32.12, 24: 43.14, 26: 48.27, 28: 53.16, 30: 57.54, 34: 65.16,
    40: 74.69, 46: 81.71, 50: 85.08, 54: 87.70, 58: 89.95, 60: 90.85, 65: 92.73, 70: 94.06,
    75: 95.10, 80: 95.84, 85: 96.42, 90: 96.88, 95: 97.25, 100: 97.49, 110: 97.91, 120: 98.21,
    150: 98.77, 200: 99.20, 300: 99.53, 500: 99.72,
}
# fmt: on
"""mmHg to percent: J Appl Physiol 1979;46:599-602, Table 1 (28 of its 51 rows)."""


@pytest.mark.parametrize(("tension", "percent"), TABLE_1.items())
def test_the_table(tension: int, percent: float) -> None:
    """Every row lies within 0.6 points; the paper states a fit within 0.55."""
    assert 100 * saturation(tension) == pytest.approx(percent, abs=0.6)


@pytest.mark.parametrize(
    ("percent", "tension"),
    [(80, 44.303), (85, 50.013), (90, 58.655), (93, 67.005), (95, 75.668), (97, 90.573)],
)
def test_the_inverse(percent: int, tension: float) -> None:
    """The exact inverse of the paper's equation 1; the values were worked out from it apart."""
    assert po2_mmhg(percent / 100) == pytest.approx(tension, abs=0.001)


@given(st.floats(min_value=0.01, max_value=700))
def test_there_and_back(tension: float) -> None:
    """Any tension comes back from its saturation."""
    assert po2_mmhg(saturation(tension)) == pytest.approx(tension, rel=1e-4, abs=1e-4)


def test_no_oxygen_is_no_saturation() -> None:
    """At no tension the blood carries nothing; a full saturation has no tension."""
    assert saturation(0) == 0
    assert po2_mmhg(0) == pytest.approx(0, abs=1e-9)
    with pytest.raises(ValueError, match="up to 1"):
        po2_mmhg(1.0)
