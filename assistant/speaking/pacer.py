"""Paces the bag: one soft tick a breath, under whatever else is said."""

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples

TICK_S = 0.06
TICK_HZ = 320.0
LEVEL_DB = -14.0


def breath_tick() -> Samples:
    """A short knock that dies away at once, shape (n,).

    A single knock every few seconds is no burst of an alarm signal (IEC 60601-1-8, table 3), and
    the voice detector does not take it for a voice.
    """
    at_s = np.arange(round(TICK_S * RATE_HZ)) / RATE_HZ
    knock = np.sin(2 * np.pi * TICK_HZ * at_s) * np.exp(-at_s / 0.012)
    return np.asarray(32767 * 10 ** (LEVEL_DB / 20) * knock, dtype=np.int16)


class Pacer:
    """Gives the ticks, block by block, on the clock of the sound."""

    def __init__(self) -> None:
        self._tick = breath_tick()
        self._rest: Samples = self._tick[:0]
        self._next_s: float | None = None

    def pull(self, samples: int, at_s: float, *, every_s: float | None) -> Samples | None:
        """The block that begins at `at_s`, shape (samples,), or None where no tick sounds.

        A tick comes every `every_s` seconds, the first after one breath; with None there is none.
        """
        if every_s is None:
            self._next_s = None
        elif self._next_s is None:
            self._next_s = at_s + every_s
        elif at_s >= self._next_s:
            # From where it should have been: late blocks do not add up to a slower pace.
            self._next_s += every_s
            self._rest = self._tick
        if not len(self._rest):
            return None
        piece, self._rest = self._rest[:samples], self._rest[samples:]
        block = np.zeros(samples, dtype=np.int16)
        block[: len(piece)] = piece
        return block
