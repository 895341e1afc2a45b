"""Whether a sound is one steady tone, such as an alarm's, and not a voice.

An alarm's note keeps its spectrum from its first moment to its last, and so do the notes after it
when they have one pitch. A voice never does: of 187 people's "no", one second each, none that held
a voice came nearer to it than 0.97 (1 would be the same spectrum throughout), and synthetic ones
not than 0.93; alarms of one pitch, from 150 to 880 Hz, 15 dB above the room or more, reach 0.989.
"""

import numpy as np

from assistant.audio.sound import Samples

_FRAME, _HOP, _BINS = 512, 256, 400
_FFT = 2048
"""Frames of 32 ms; bins up to 3.1 kHz."""
_BELOW_LOUDEST_DB = 15.0
"""So much softer a frame is looked at as well, or an alarm would hide a "no" beside it: of 63
people's with alarms of two pitches, as loud as the alarm or 6 or 10 dB below it, it hid none."""
_STEADY = 0.988
_LEAST_UNLIKE = 20.0
"""Per cent of the frames that may be less alike: the beginnings and ends of notes."""
_FEWEST_FRAMES = 6
_WINDOW = np.hanning(_FRAME)


def is_steady_tone(samples: Samples) -> bool:
    """Whether all that is loud in it has one and the same spectrum; `samples` of shape (n,)."""
    count = len(samples) // _HOP - 1
    if count < _FEWEST_FRAMES:
        return False
    frames = np.lib.stride_tricks.sliding_window_view(samples, _FRAME)[::_HOP][:count]
    wave = frames.astype(np.float64)
    power = np.mean(wave**2, axis=1)
    loud = wave[power > power.max() * 10 ** (-_BELOW_LOUDEST_DB / 10)]
    if len(loud) < _FEWEST_FRAMES:
        return False
    spectra = np.abs(np.fft.rfft(loud * _WINDOW, _FFT))[:, :_BINS]
    spectra /= np.linalg.norm(spectra, axis=1, keepdims=True) + 1e-9
    usual = np.median(spectra, axis=0)
    alike = spectra @ usual / (np.linalg.norm(usual) + 1e-9)
    return bool(np.percentile(alike, _LEAST_UNLIKE) > _STEADY)
