"""Tones: how loud a sound is beside one, which may hide a word, and what is nothing but one."""

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
_HEARD_BINS = slice(3, 129)
_LOUD_SHARE = 0.01
_SAME, _STEADY_SHARE = 0.97, 0.75
"""Of the loud blocks next to each other in a note, so many have the same spectrum, as a cosine. Of
250 words by people, a third of them a drawn-out "no", none has more than 71 %; a note on one pitch
has all of them, and one that changes once or warbles 67 % and more."""
_FEW_PAIRS = 3
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


def is_steady_tone(samples: Samples) -> bool:
    """Whether the sound is a note, as of an alarm or a pump: a voice never keeps its spectrum."""
    blocks = samples[: len(samples) // BLOCK_SAMPLES * BLOCK_SAMPLES].reshape(-1, BLOCK_SAMPLES)
    spectra = np.abs(np.fft.rfft(blocks * _WINDOW, axis=1))[:, _HEARD_BINS]
    power = (spectra**2).sum(axis=1)
    loud = power > power.max(initial=0.0) * _LOUD_SHARE
    pairs = loud[1:] & loud[:-1]
    if pairs.sum() <= _FEW_PAIRS:
        return False
    unit = spectra / np.sqrt(np.maximum(power, 1e-9))[:, None]
    alike = (unit[1:] * unit[:-1]).sum(axis=1)[pairs]
    return bool(np.mean(alike > _SAME) > _STEADY_SHARE)
