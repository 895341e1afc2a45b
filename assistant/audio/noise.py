"""Noise as a room has it, made: pink, and the same each time for the same chance."""

import numpy as np
import numpy.typing as npt

from assistant.audio.sound import RATE_HZ, Samples

NOISE_BEFORE_S = 4.5
"""So long the end-pointer needs to know a room's noise."""


def pink(length: int, chance: np.random.Generator) -> npt.NDArray[np.float64]:
    """Noise of that many samples whose power falls by 3 dB an octave; of no set level."""
    spectrum = np.fft.rfft(chance.standard_normal(length))
    return np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 1)), length)


def in_pink_noise(voice: Samples, below_db: float) -> Samples:
    """The voice in noise that lies so far below it, and was there long before it.

    Lasts `NOISE_BEFORE_S` and a second longer; the same samples always come out the same.
    """
    wave = np.pad(voice.astype(np.float64), (round(NOISE_BEFORE_S * RATE_HZ), RATE_HZ))
    noise = pink(len(wave), np.random.default_rng(0))
    voiced = wave[np.abs(wave) > 0.05 * np.abs(wave).max(initial=1.0)]
    level = np.sqrt(np.mean(voiced**2)) * 10 ** (-below_db / 20)
    return np.asarray(np.clip(wave + noise / noise.std() * level, -32768, 32767), dtype=np.int16)
