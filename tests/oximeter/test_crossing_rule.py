"""The truth table of docs/crossing-rule.md, run as it stands there."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.oximeter.crossing import Call, CallKind, Crossing, CrossingSettings
from assistant.oximeter.frames import Sample

PAGE = Path(__file__).parents[2] / "docs" / "crossing-rule.md"
LOSSES = (CallKind.SIGNAL_LOST, CallKind.FEED_LOST)


def table() -> list[tuple[str, str, str]]:
    rows = re.findall(r"^\| ([^|]+?) \| `([^`]+)` \| ?([^|]*?) ?\|$", PAGE.read_text("utf-8"), re.M)
    assert len(rows) >= 30
    return rows


def sample(given: str, at_s: float) -> Sample:
    """One frame of the table's notation; the pulse rate varies unless the figures are frozen."""
    pulse = 72 if given.startswith("=") else 72 + round(at_s * 7) % 3
    if given == "off":
        return Sample(at_s, None, None, usable=False, why="no finger")
    if given.endswith("-nopulse"):
        return Sample(at_s, int(given.removesuffix("-nopulse")), None, usable=True)
    return Sample(at_s, int(given.removeprefix("=")), pulse, usable=True)


def run(script: str, rate_hz: int, crossing: Crossing) -> Iterator[Call]:
    number = 0
    for part in script.split():
        given, seconds = part.split("*")
        for _ in range(int(seconds) * rate_hz):
            at_s = number / rate_hz
            number += 1
            if given != "none":
                call = crossing.take(sample(given, at_s))
                if call is not None:
                    yield call
            call = crossing.tick(at_s)
            if call is not None:
                yield call


@pytest.mark.parametrize("rate_hz", [1, 3, 60])
@pytest.mark.parametrize(("script", "called"), [pytest.param(s, c, id=n) for n, s, c in table()])
def test_calls_what_the_table_says(script: str, called: str, rate_hz: int) -> None:
    """Every line of the truth table holds at one, three and sixty frames a second."""
    wanted = [re.fullmatch(r"([a-z-]+)(?: (\d+))? at (\d+)", one) for one in called.split(", ")]
    wanted = wanted if called else []

    calls = list(run(script, rate_hz, Crossing(CrossingSettings())))

    shown = [(call.kind.value, call.level_percent) for call in calls]
    assert shown == [(m[1], int(m[2]) if m[2] else None) for m in wanted if m]
    for call, match in zip(calls, wanted, strict=True):
        assert match is not None
        # A loss counts from the last good frame, which lies up to a second after its stretch began.
        late_s = 1.0 if call.kind in LOSSES else 0.05
        assert int(match[3]) - 0.001 <= call.at_s <= int(match[3]) + late_s
