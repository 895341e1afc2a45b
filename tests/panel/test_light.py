"""The status light's rhythms."""

from itertools import pairwise

import pytest

from assistant.panel.light import RHYTHMS_S, Light
from assistant.panel.panel import LightStatus

BLOCK_S = 0.032
STANDS_STILL_S = 4.0


def shown(status: LightStatus, seconds: float) -> list[bool]:
    """The light, block by block."""
    light = Light()
    return [light.lit(status, 100 + block * BLOCK_S) for block in range(int(seconds / BLOCK_S))]


def longest_run_s(lights: list[bool]) -> float:
    """The longest time without a change."""
    longest = run = 1
    for before, after in pairwise(lights):
        run = run + 1 if after is before else 1
        longest = max(longest, run)
    return longest * BLOCK_S


@pytest.mark.parametrize("status", LightStatus)
def test_no_status_stands_still(status: LightStatus) -> None:
    """A light that stands still means that nobody listens, so no rhythm may look like it."""
    assert longest_run_s(shown(status, 20)) < STANDS_STILL_S


def test_each_status_can_be_told_from_the_others() -> None:
    """No two statuses are alike both in flashes a minute and in the part of the time lit."""
    seen = {}
    for status in LightStatus:
        lights = shown(status, 60)
        flashes = sum(after and not before for before, after in pairwise(lights))
        seen[status] = (flashes, sum(lights) / len(lights))
    for one in LightStatus:
        for other in LightStatus:
            if one is not other:
                unlike = max(seen[one][0], 1) / max(seen[other][0], 1)
                share = seen[one][1] - seen[other][1]
                assert not (1 / 1.8 < unlike < 1.8 and abs(share) < 0.25), (one, other, seen)


@pytest.mark.parametrize("status", LightStatus)
def test_no_flash_falls_between_two_blocks(status: LightStatus) -> None:
    """Moved on once a block of sound, the light shows every flash of its rhythm."""
    assert min(RHYTHMS_S[status]) > 3 * BLOCK_S


@pytest.mark.parametrize("status", LightStatus)
def test_it_does_not_flash_like_a_strobe(status: LightStatus) -> None:
    """At most three flashes in any second (WCAG 2.2, success criterion 2.3.1)."""
    lights = shown(status, 20)
    rises = [at for at in range(1, len(lights)) if lights[at] and not lights[at - 1]]
    a_second = int(1 / BLOCK_S)
    for rise in rises:
        assert sum(rise <= other < rise + a_second for other in rises) <= 3


def test_a_new_status_begins_lit() -> None:
    """The change is seen at once."""
    light = Light()
    assert light.lit(LightStatus.IDLE, 10.0)
    assert not light.lit(LightStatus.IDLE, 11.0)
    assert light.lit(LightStatus.SPEAKING, 11.1)
    assert not light.lit(LightStatus.SPEAKING, 11.7)
