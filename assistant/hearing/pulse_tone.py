"""How loud a block of sound is beside a tone in it: whether a monitor's pulse tone hides a word."""

import numpy as np

from assistant.audio.levels import level_dbfs
from assistant.audio.sound import BLOCK_SAMPLES, RATE_HZ, Samples

_BIN_HZ = RATE_HZ / BLOCK_SAMPLES
_PITCH_BINS = slice(round(400 / _BIN_HZ), round(3000 / _BIN_HZ))
"""Above the pitch of a voice. (Alarms may be as low as 150 Hz, IEC 60601-1-8, from memory: such a
one counts as a voice here.)"""
_WIDE_BINS = 3
"""A tone reaches so far to both sides under a Hann window that is one block long."""
_OF_A_VOICE_DB = 8.0
"""What is taken out with the tone and its harmonics would cost a voice so much at most, in 19 of 20
blocks of conditions and denials by the tuning voices."""
_WINDOW = np.hanning(BLOCK_SAMPLES)


def level_without_tone_dbfs(block: Samples) -> float:
    """The level of one block, of 512 samples, less what a tone with its harmonics makes of it.

    Of a voice, and of any other sound, that is hardly anything.
    """
    power = np.abs(np.fft.rfft(block * _WINDOW)) ** 2
    pitch = _PITCH_BINS.start + int(power[_PITCH_BINS].argmax())
    at = np.arange(len(power))
    beside = np.abs(at - np.round(at / pitch) * pitch) > _WIDE_BINS
    beside[: pitch - _WIDE_BINS] = True
    share_db = 10 * np.log10((power[beside].sum() + 1.0) / (power.sum() + 1.0))
    return level_dbfs(block) + min(0.0, float(share_db) + _OF_A_VOICE_DB)
