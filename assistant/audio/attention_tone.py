"""The attention tone before a call, made not to be taken for an alarm of a monitor.

IEC 60601-1-8 builds alarm signals from short pulses of one steady pitch each, rich in harmonics
(at least four components within 15 dB of one another), in bursts of two to ten. This is one long
glide of an almost pure note: no burst, no steady pitch, no such harmonics.
tests/oximeter/test_tone.py measures it.
"""

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples

LASTS_S = 0.6
FROM_HZ, TO_HZ = 350.0, 620.0
SECOND_HARMONIC_DB = -22.0
FADE_S = 0.2
LEVEL_DB = -8.0


def attention_tone() -> Samples:
    """One soft rising glide, shape (n,), 0.6 s."""
    at_s = np.arange(round(LASTS_S * RATE_HZ)) / RATE_HZ
    # Pitch rises by equal intervals in equal times, as the ear counts them.
    rise = np.log(TO_HZ / FROM_HZ) / LASTS_S
    phase = 2 * np.pi * FROM_HZ * np.expm1(rise * at_s) / rise
    note = np.sin(phase) + 10 ** (SECOND_HARMONIC_DB / 20) * np.sin(2 * phase)
    ends_s = np.minimum(at_s, LASTS_S - at_s)
    fade = np.sin(np.pi / 2 * np.clip(ends_s / FADE_S, 0, 1)) ** 2
    return np.asarray(32767 * 10 ** (LEVEL_DB / 20) * note * fade, dtype=np.int16)
