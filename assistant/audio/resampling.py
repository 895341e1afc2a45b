"""From one sample rate to another."""

import numpy as np
import soxr

from assistant.audio.sound import Samples


class Resampler:
    """A stream of sound, piece by piece; pieces of equal rates pass unchanged."""

    def __init__(self, from_hz: float, to_hz: float) -> None:
        self._stream = (
            None if from_hz == to_hz else soxr.ResampleStream(from_hz, to_hz, 1, dtype="int16")
        )

    def __call__(self, piece: Samples) -> Samples:
        """The next piece, shape (n,); what comes out is a little late, and of another length."""
        if self._stream is None:
            return piece
        return np.asarray(self._stream.resample_chunk(piece), dtype=np.int16)


def resampled(sound: Samples, from_hz: float, to_hz: float) -> Samples:
    """A whole sound, shape (n,), at another rate."""
    if from_hz == to_hz or not len(sound):
        return sound
    return np.asarray(soxr.resample(sound, from_hz, to_hz), dtype=np.int16)
