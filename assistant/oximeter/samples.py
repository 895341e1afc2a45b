"""A sample: what an oximeter says at one moment, however it is written."""

import math
from dataclasses import dataclass

JITTER_S = 0.05
"""Samples come so much sooner or later than the device meant: each has the time of the look at the
port that found it (`process.STEP_S` apart, and a busy machine is late), and no device keeps its
second exactly. Two seconds come as 1.98 s or 2.02 s."""


def slack_s(apart_s: float) -> float:
    """By how much less a length of time counts as reached, where samples come that far apart.

    Else every second call would wait for one sample more, a second later. Where the next one comes
    soon, less is given away.
    """
    return min(JITTER_S, apart_s / 2)


@dataclass(frozen=True, slots=True)
class Sample:
    """What one frame, line or packet says."""

    at_s: float
    """When it was read, on the case's clock."""
    spo2_percent: int | None
    """0 … 100; None when the device gives none."""
    pulse_bpm: int | None
    usable: bool
    """False when the device itself casts doubt on it, or a figure is missing."""
    why: str = ""
    """Why it is not usable, or what the device remarks; empty when nothing is the matter."""
    wave: int | None = None
    """The plethysmogram, where the device sends it: it moves with every beat."""


def sample_of(
    at_s: float,
    spo2_percent: float | None,
    pulse_bpm: float | None,
    *,
    faults: list[str],
    remarks: list[str],
    wave: int | None = None,
) -> Sample:
    """Figures as they were written, to a sample; a saturation outside 0 … 100 counts as unknown.

    A fraction is rounded to the nearest whole, a half downwards: so 93.5 reaches 93.
    """
    spo2 = _whole(spo2_percent)
    if spo2 is not None and not 0 <= spo2 <= 100:
        spo2 = None
    pulse = _whole(pulse_bpm)
    if pulse is not None and pulse < 0:
        pulse = None
    faults = [*faults, *["no saturation"] * (spo2 is None), *["no pulse rate"] * (pulse is None)]
    return Sample(at_s, spo2, pulse, not faults, ", ".join(faults or remarks), wave)


def _whole(figure: float | None) -> int | None:
    if figure is None or not math.isfinite(figure):
        return None
    return math.ceil(figure - 0.5)
