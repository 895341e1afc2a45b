"""How loud a sound is, and whether its line is dead, clipped, humming or faint."""

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples

_FULL_SCALE = 32_700
_CLIPPED_SHARE = 0.002
"""So many of the samples at full scale are heard as a crackle on every loud vowel."""
_HUM_SHARE = 0.6
"""Of the power below 1 kHz, on the mains frequency and its first harmonics."""
_HUM_FROM_DBFS = -60.0
"""Fainter than this, a hum disturbs nothing."""
_MAINS_HZ = (50.0, 60.0)
_HARMONICS = 5
_WIDE_HZ = 2.0
_FAINT_DBFS = -45.0
"""The engine itself still hears a voice at -53 dBFS (measured in November 2026), but the noise of
cheap converters lies not far below."""


def is_dead(samples: Samples) -> bool:
    """Whether the line gives one value only, as an unplugged or muted input does.

    A live input always has some noise in its last bit.
    """
    return bool(np.ptp(samples) == 0)


def is_clipped(samples: Samples) -> bool:
    """Whether more than two in a thousand samples stand at full scale."""
    at_full_scale = np.abs(samples.astype(np.int32)) >= _FULL_SCALE
    return bool(np.mean(at_full_scale) > _CLIPPED_SHARE)


def is_humming(samples: Samples) -> bool:
    """Whether most of the low sound is the mains: 50 Hz or 60 Hz with harmonics.

    Needs a second of sound at least, to tell the two apart from a voice.
    """
    if level_dbfs(samples) < _HUM_FROM_DBFS:
        return False
    power = np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) ** 2
    at_hz = np.fft.rfftfreq(len(samples), 1 / RATE_HZ)
    low = float(power[(at_hz > 20) & (at_hz < 1000)].sum())
    for mains_hz in _MAINS_HZ:
        multiples = mains_hz * np.arange(1, _HARMONICS + 1)
        on_them = np.abs(at_hz[:, None] - multiples).min(axis=1) < _WIDE_HZ
        if low > 0 and float(power[on_them].sum()) > _HUM_SHARE * low:
            return True
    return False


def is_faint(voice: Samples) -> bool:
    """Whether an utterance is so soft that little of it is left above the line's own noise."""
    return level_dbfs(voice) < _FAINT_DBFS


def level_dbfs(samples: Samples) -> float:
    """Root mean square, relative to full scale; -96 dB for silence."""
    power = float(np.mean((samples.astype(np.float64) / 32768) ** 2)) if len(samples) else 0.0
    return float(10 * np.log10(power + 10**-9.6))
