"""The room's steady noise taken out of an utterance, as far as it helps the engine.

Spectral gating: what is no louder than the noise before the first word was, at its frequency, is
turned down. Measured in docs/hearing-trials.md; suppressors made for people's ears, which take out
more, cost as much as they gained.

The gate is the stationary one of noisereduce 3.0.3 (MIT licence), written again with numpy alone,
as that package brings scipy and a plotting library with it. A test holds the two together.
"""

from functools import cache

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from assistant.audio.levels import level_dbfs
from assistant.audio.sound import RATE_HZ, Samples

_BEFORE_SAMPLES = round(0.3 * RATE_HZ)
"""The ear keeps so much from before the first word."""
_SHARE = 0.7
"""How much of the noise is taken: with 0.9, words went with it."""
_BELOW_DB = 3.1
"""No further below what follows, somebody spoke at once: 5 dB above the noise, a speaker leaves it
6 dB below."""
_FRAME_SAMPLES, _HOP_SAMPLES = 1024, 256
_WINDOW = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(_FRAME_SAMPLES) / _FRAME_SAMPLES)
_WINDOWS_SUM = _FRAME_SAMPLES / 2
_OVERLAP = 1.5
"""What the squares of the windows that lie upon a sample add up to."""
_NOISE_DEVIATIONS = 1.5
"""So many standard deviations above its mean, in decibels, a sound is louder than the noise."""
_RANGE_DB = 80.0
"""What is further below the loudest of its frequency counts as so far below."""
_SMOOTH_BINS, _SMOOTH_FRAMES = 16, 3
"""The gate opens and closes over 500 Hz and 50 ms."""
_AROUND_SAMPLES = 7 * _HOP_SAMPLES + 48
"""Silence around the utterance, so that no frame of it is at the edge of what is smoothed. The 48
put the frames where noisereduce has them: it adds 30,000 samples."""

_Floats = npt.NDArray[np.floating]
_Spectra = npt.NDArray[np.complexfloating]


def without_noise(samples: Samples) -> Samples:
    """The same utterance, 16 bits at 16 kHz, quieter between its words.

    Unchanged when its first 0.3 s are no noise: digital silence, or somebody speaking.
    """
    noise, rest = samples[:_BEFORE_SAMPLES], samples[_BEFORE_SAMPLES:]
    if len(rest) < _BEFORE_SAMPLES or not noise.any():
        return samples
    if level_dbfs(noise) > level_dbfs(rest) - _BELOW_DB:
        return samples
    quieter = gated(samples.astype(np.float64), noise.astype(np.float32))
    return np.clip(quieter, -32768, 32767).astype(np.int16)


def gated(sound: _Floats, noise: _Floats) -> npt.NDArray[np.float32]:
    """The sound with 0.7 of what is no louder than the noise taken off, of the same length."""
    noise_db = _decibels(_spectra(noise, _FRAME_SAMPLES // 2))
    louder_db = noise_db.mean(axis=0) + _NOISE_DEVIATIONS * noise_db.std(axis=0)
    spectra = _spectra(sound, _AROUND_SAMPLES)
    is_louder = _decibels(spectra) > louder_db
    return _sound(spectra * _smoothed(1 - _SHARE * ~is_louder), len(sound))


def _spectra(sound: _Floats, around_samples: int) -> _Spectra:
    """The spectrum of each frame, of shape (frames, bins), with silence around the sound."""
    frames = sliding_window_view(np.pad(sound, around_samples), _FRAME_SAMPLES)[::_HOP_SAMPLES]
    return np.fft.rfft(frames * _WINDOW.astype(sound.dtype)) / _WINDOWS_SUM


def _sound(spectra: _Spectra, length: int) -> npt.NDArray[np.float32]:
    """The frames added up again, each under its window once more."""
    frames = np.fft.irfft(spectra * _WINDOWS_SUM) * _WINDOW / _OVERLAP
    sound = np.zeros(_HOP_SAMPLES * (len(frames) - 1) + _FRAME_SAMPLES)
    for number, frame in enumerate(frames):
        at = _HOP_SAMPLES * number
        sound[at : at + _FRAME_SAMPLES] += frame
    return sound[_AROUND_SAMPLES : _AROUND_SAMPLES + length].astype(np.float32)


def _decibels(spectra: _Spectra) -> _Floats:
    found = 20 * np.log10(np.abs(spectra) + np.finfo(np.float64).eps)
    return np.asarray(np.maximum(found, found.max(axis=0) - _RANGE_DB))


def _smoothed(gate: _Floats) -> _Floats:
    """The gate, of shape (frames, bins), averaged over those near by; beyond the edges it is 0."""
    for axis, reach in enumerate((_SMOOTH_FRAMES, _SMOOTH_BINS)):
        around = [(reach, reach) if axis == one else (0, 0) for one in (0, 1)]
        near = sliding_window_view(np.pad(gate, around), 2 * reach + 1, axis=axis)
        gate = near @ _falling(reach)
    return gate


@cache
def _falling(reach: int) -> _Floats:
    """Weights that fall on both sides in a straight line, and are 1 together."""
    weights = reach + 1.0 - np.abs(np.arange(-reach, reach + 1))
    return np.asarray(weights / weights.sum())
