"""The one form of sound inside the assistant: 16 kHz, mono, 16 bit, in blocks of 32 ms."""

from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

from assistant.errors import BadInput
from assistant.files.named_files import to_read

RATE_HZ = 16_000
BLOCK_SAMPLES = 512  # 32 ms, the frame of the voice-activity detector
BLOCK_S = BLOCK_SAMPLES / RATE_HZ

Samples = npt.NDArray[np.int16]
"""Shape (n,), int16 at `RATE_HZ`."""


def to_samples(wave: npt.NDArray[np.floating], rate_hz: float) -> Samples:
    """Bring a wave of floats in -1 … 1, shape (n,) or (n, channels), to the assistant's form."""
    mono = wave if wave.ndim == 1 else wave.mean(axis=1)
    at_rate = mono if rate_hz == RATE_HZ else soxr.resample(mono, rate_hz, RATE_HZ)
    return np.asarray(np.clip(at_rate * 32768.0, -32768, 32767), dtype=np.int16)


def read_wav(path: Path) -> Samples:
    """Read a sound file of any rate and any number of channels.

    Raises BadInput when the file is absent or is not sound.
    """
    to_read(path, "a WAV file")
    try:
        wave, rate_hz = soundfile.read(path, dtype="float32")
    except (soundfile.SoundFileError, OSError) as fault:
        found = "a file that is not sound"
        raise BadInput.in_file(path, found=found, allowed="a WAV file") from fault
    if not np.isfinite(wave).all():
        found = "sound with numbers that are none"
        raise BadInput.in_file(path, found=found, allowed="a WAV file")
    return to_samples(wave, rate_hz)


def scaled(samples: Samples, gain_db: float) -> Samples:
    """The same sound, louder or softer, clipped at full scale."""
    louder = samples.astype(np.float32) * 10 ** (gain_db / 20)
    return np.asarray(np.clip(louder, -32768, 32767), dtype=np.int16)


def mixed(*sounds: npt.NDArray[np.int16] | npt.NDArray[np.float64]) -> Samples:
    """Several sounds of one length at once, clipped at full scale."""
    total = np.sum([sound.astype(np.float64) for sound in sounds], axis=0)
    return np.asarray(np.clip(total, -32768, 32767), dtype=np.int16)


def silence(seconds: float) -> Samples:
    """That many seconds of nothing."""
    return np.zeros(round(seconds * RATE_HZ), dtype=np.int16)
