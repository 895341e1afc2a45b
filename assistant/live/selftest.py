"""The self-test at the start: microphone, loudspeaker, oximeter, disk and clock."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

import numpy as np

from assistant.clock import read_wall
from assistant.sound import RATE_HZ, Samples

SWEEP_S = 0.5
SWEEP_HZ = (500.0, 2500.0)
DELAY_S = 0.8
"""From playing to hearing, at the most."""
HEARD_AT = 0.2
"""Correlation of what was heard with what was played; noise alone stays far below."""
LEAST_FREE_BYTES = 200_000_000
"""Room for some cases, with their recordings."""


class Fault(Enum):
    """What the self-test found wrong; the words are the site's."""

    MICROPHONE_SILENT = "microphone_silent"
    """Nothing but zeros: a dead channel. A quiet room is never quite silent."""
    LOUDSPEAKER_UNHEARD = "loudspeaker_unheard"
    OXIMETER_SILENT = "oximeter_silent"
    DISK_FULL = "disk_full"
    CLOCK_UNSET = "clock_unset"


@dataclass(frozen=True, slots=True)
class Findings:
    """What the self-test has to go by."""

    heard: Samples
    """The microphone while the sweep was played and for `DELAY_S` after it."""
    watched: bool
    """Whether the watcher has told of a saturation."""
    cases: Path


def sweep() -> Samples:
    """A soft rising tone that is easily found again in a noisy room; shape (n,)."""
    at_s = np.arange(round(SWEEP_S * RATE_HZ)) / RATE_HZ
    low_hz, high_hz = SWEEP_HZ
    phase = 2 * np.pi * (low_hz * at_s + (high_hz - low_hz) / (2 * SWEEP_S) * at_s**2)
    fade = np.minimum(1.0, np.minimum(at_s, SWEEP_S - at_s) / 0.05)
    return np.asarray(6000 * fade * np.sin(phase), dtype=np.int16)


def faults(findings: Findings) -> Iterator[Fault]:
    """What is wrong, in the order in which it matters."""
    if is_dead(findings.heard):
        yield Fault.MICROPHONE_SILENT
    elif not hears_sweep(findings.heard):
        yield Fault.LOUDSPEAKER_UNHEARD
    if not findings.watched:
        yield Fault.OXIMETER_SILENT
    if shutil.disk_usage(findings.cases).free < LEAST_FREE_BYTES:
        yield Fault.DISK_FULL
    if not read_wall().trusted:
        yield Fault.CLOCK_UNSET


def is_dead(samples: Samples) -> bool:
    """Whether a microphone gave the same value throughout: a dead channel, not a quiet room."""
    return len(samples) == 0 or bool(np.ptp(samples) == 0)


def hears_sweep(samples: Samples) -> bool:
    """Whether the sweep is somewhere in what was heard, by normalised cross-correlation."""
    played = sweep().astype(np.float64)
    heard = samples.astype(np.float64)
    if len(heard) < len(played):
        return False
    size = 1 << (len(heard) + len(played)).bit_length()
    spectrum = np.fft.rfft(heard, size) * np.conj(np.fft.rfft(played, size))
    match = np.fft.irfft(spectrum, size)[: len(heard) - len(played) + 1]
    energy = np.cumsum(np.concatenate([[0.0], heard**2]))
    within = np.sqrt(np.maximum(energy[len(played) :] - energy[: -len(played)], 1.0))
    best = np.max(np.abs(match) / (within * np.linalg.norm(played)))
    return bool(best >= HEARD_AT)
