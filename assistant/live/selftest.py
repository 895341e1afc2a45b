"""The self-test at the start: microphone, loudspeaker, oximeter, disk and clock."""

import shutil
from collections.abc import Iterator
from enum import Enum
from pathlib import Path

import numpy as np

from assistant.audio.levels import is_clipped, is_dead
from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ, Samples
from assistant.clock import read_wall
from assistant.oximeter.messages import Message, Watching

SWEEP_S = 0.5
SWEEP_HZ = (500.0, 2500.0)
DELAY_S = 0.8
"""From playing to hearing, at the most."""
SWEEPS = 4
"""So many a canceller of the echo hears before it is judged: it has to get used to its room."""
LONGEST_S = 10.0
"""So long the sound has to come up, and the watcher to start and tell of a saturation."""
CLIPPED_S = 0.25
"""So much of the sweep, or of the room, at full scale: words would be as distorted."""
HEARD_AT = 0.2
"""Correlation of what was heard with what was played; noise alone stays far below."""
LEAST_FREE_BYTES = 200_000_000
"""Room for some cases, with their recordings."""


class Fault(Enum):
    """What the self-test found wrong; the words are the site's."""

    MICROPHONE_SILENT = "microphone_silent"
    """Nothing but zeros: a dead channel. A quiet room is never quite silent."""
    MICROPHONE_CLIPPED = "microphone_clipped"
    LOUDSPEAKER_UNHEARD = "loudspeaker_unheard"
    HEARS_ITSELF = "hears_itself"
    """Although its echo should be cancelled: then nobody may interrupt it."""
    OXIMETER_SILENT = "oximeter_silent"
    CALL_MISSING = "call_missing"
    """The watcher's voice cannot make each of its calls."""
    DISK_FULL = "disk_full"
    CLOCK_UNSET = "clock_unset"


class SelfTest:
    """Plays the sweep until the microphone hears it, and waits for the watcher, but not for ever.

    Where the echo should be cancelled, the last of several sweeps must not be heard. Whether the
    loudspeaker sounds at all cannot be told then. Whoever has the sound calls `step` once a block.
    """

    def __init__(self, cases: Path, *, echo_cancelled: bool = False) -> None:
        self._cases = cases
        self._echo_cancelled = echo_cancelled
        self._sweeps = 0
        self._heard: list[Samples] = []
        self._sweep = sweep()
        self._lasted_s = 0.0
        self._watched = False
        self._call_missing = False
        self._anything = False
        self._clipped_blocks = 0
        self.echo_s: float | None = None
        """How late the loudspeaker is heard by the microphone, once it has been heard."""

    @property
    def done(self) -> bool:
        """Whether all is well, or nothing more is waited for."""
        well = not self._sweeps_on and self._watched
        return well or self._lasted_s >= LONGEST_S

    @property
    def _sweeps_on(self) -> bool:
        return self._sweeps < SWEEPS if self._echo_cancelled else self.echo_s is None

    @property
    def may_interrupt(self) -> bool:
        """Whether it was seen that it does not hear itself."""
        return self._echo_cancelled and self._sweeps > 0 and self.echo_s is None

    def take(self, message: Message) -> None:
        """One message of the watcher."""
        if isinstance(message, Watching):
            self._watched |= message.spo2_percent is not None
            self._call_missing = message.missing_calls > 0

    def step(self, mic: Samples) -> Samples:
        """Take a block of the microphone; return the block to play meanwhile."""
        self._lasted_s += BLOCK_S
        self._heard.append(mic)
        self._anything |= not is_dead(mic)
        self._clipped_blocks += is_clipped(mic)
        block, self._sweep = self._sweep[:BLOCK_SAMPLES], self._sweep[BLOCK_SAMPLES:]
        if len(self._heard) * BLOCK_S >= SWEEP_S + DELAY_S and self._sweeps_on:
            self.echo_s = echo_delay_s(np.concatenate(self._heard))
            self._sweeps += 1
            self._heard, self._sweep = [], sweep()
        return np.pad(block, (0, BLOCK_SAMPLES - len(block)))

    def faults(self) -> Iterator[Fault]:
        """What is wrong, in the order in which it matters."""
        if not self._anything:
            yield Fault.MICROPHONE_SILENT
        elif self._echo_cancelled and not self.may_interrupt:
            yield Fault.HEARS_ITSELF
        elif not self._echo_cancelled and self.echo_s is None:
            yield Fault.LOUDSPEAKER_UNHEARD
        if self._clipped_blocks * BLOCK_S >= CLIPPED_S:
            yield Fault.MICROPHONE_CLIPPED
        if not self._watched:
            yield Fault.OXIMETER_SILENT
        if self._call_missing:
            yield Fault.CALL_MISSING
        if shutil.disk_usage(self._cases).free < LEAST_FREE_BYTES:
            yield Fault.DISK_FULL
        if not read_wall().trusted:
            yield Fault.CLOCK_UNSET


def sweep() -> Samples:
    """A soft rising tone that is easily found again in a noisy room; shape (n,)."""
    at_s = np.arange(round(SWEEP_S * RATE_HZ)) / RATE_HZ
    low_hz, high_hz = SWEEP_HZ
    phase = 2 * np.pi * (low_hz * at_s + (high_hz - low_hz) / (2 * SWEEP_S) * at_s**2)
    fade = np.minimum(1.0, np.minimum(at_s, SWEEP_S - at_s) / 0.05)
    return np.asarray(6000 * fade * np.sin(phase), dtype=np.int16)


def echo_delay_s(samples: Samples) -> float | None:
    """How late the sweep is in what was heard, by normalised cross-correlation; None if absent."""
    played = sweep().astype(np.float64)
    heard = samples.astype(np.float64)
    if len(heard) < len(played):
        return None
    size = 1 << (len(heard) + len(played)).bit_length()
    spectrum = np.fft.rfft(heard, size) * np.conj(np.fft.rfft(played, size))
    match = np.fft.irfft(spectrum, size)[: len(heard) - len(played) + 1]
    energy = np.cumsum(np.concatenate([[0.0], heard**2]))
    within = np.sqrt(np.maximum(energy[len(played) :] - energy[: -len(played)], 1.0))
    alike = np.abs(match) / (within * np.linalg.norm(played))
    at = int(np.argmax(alike))
    return at / RATE_HZ if alike[at] >= HEARD_AT else None
