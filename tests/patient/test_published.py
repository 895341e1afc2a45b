"""The simulated patient against published times and slopes.

tests/bench/patient.py has the sources, by title, journal and year.
"""

import pytest

from assistant.patient.body import Body
from tests.bench.patient import (
    APNOEA,
    HEALTHY,
    HEAVY,
    OBESE,
    SLOPE_BAND,
    Apnoea,
    apnoea_min,
    fall,
)


@pytest.mark.parametrize(
    "one",
    [pytest.param(one, id=f"{one.who}, {one.until:.0%}") for one in APNOEA if one.within_a_fifth],
)
def test_the_published_times(one: Apnoea) -> None:
    """Apnoea lasts as long as was published, within a fifth."""
    assert apnoea_min(one) == pytest.approx(one.published_min, rel=0.2)


@pytest.mark.parametrize(
    "body",
    [
        pytest.param(HEALTHY, id="70 kg"),
        pytest.param(OBESE, id="127 kg"),
        pytest.param(HEAVY, id="170 kg"),
    ],
)
def test_the_slope_and_the_way_back(body: Body) -> None:
    """Below 90 % it falls as steeply as published, and bagging brings it back in no few seconds.

    The way back: common practice, half a minute to a minute and a half, no source.
    """
    one = fall(body)

    assert SLOPE_BAND[0] < one.slope_per_min < SLOPE_BAND[1]
    assert 15 < one.back_s < 90
