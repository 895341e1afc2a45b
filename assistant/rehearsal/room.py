"""The room of a rehearsal: its noise, what reaches the microphone, and its recording."""

import wave
from pathlib import Path
from types import TracebackType

import numpy as np
import numpy.typing as npt

from assistant.audio.sound import BLOCK_SAMPLES, RATE_HZ, Samples, mixed, scaled
from assistant.rehearsal.cast import SPEECH_DBFS
from assistant.rehearsal.scenario import RoomSettings

Wave = npt.NDArray[np.float64]

_NOISE_S = 30
_BEEP_HZ = 880.0
_BEEP_S = 0.08
_BEEPS_PER_MINUTE = 84


class Room:
    """Mixes what sounds at once; noise is made once from the seed and repeats every half minute."""

    def __init__(self, settings: RoomSettings, seed: int) -> None:
        self._settings = settings
        random = np.random.default_rng(seed)
        level = 32768 * 10 ** ((SPEECH_DBFS - settings.snr_db) / 20)
        noise = _pink(random, _NOISE_S * RATE_HZ)
        if settings.beeps:
            noise = 0.9 * noise + 0.45 * _beeps(_NOISE_S * RATE_HZ)
        noise = noise / np.sqrt(np.mean(noise**2)) * level
        self._noise = np.concatenate([noise, noise[:BLOCK_SAMPLES]])
        """With its beginning once more behind its end, where a block goes over it."""
        self._repeats_after = len(noise)
        self._at = 0

    def noise(self) -> Wave:
        """The noise of the next block, shape (512,)."""
        block = self._noise[self._at : self._at + BLOCK_SAMPLES]
        self._at = (self._at + BLOCK_SAMPLES) % self._repeats_after
        return block

    def at_the_microphone(self, people: Samples, loudspeaker: Samples, noise: Wave) -> Samples:
        """What the microphone picks up: people, noise, and the loudspeaker from further away."""
        return mixed(people, scaled(loudspeaker, self._settings.echo_db), noise)

    def to_be_heard(self, people: Samples, loudspeaker: Samples, noise: Wave) -> Samples:
        """What a person standing in the room hears."""
        return mixed(people, scaled(loudspeaker, -6.0), noise)


class Recording:
    """The whole room's sound as a WAV that is whole after every block, whatever happens next."""

    def __init__(self, path: Path) -> None:
        self._file = wave.open(str(path), "wb")  # noqa: SIM115 - closed by our own __exit__
        self._file.setnchannels(1)
        self._file.setsampwidth(2)
        self._file.setframerate(RATE_HZ)

    def __enter__(self) -> "Recording":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._file.close()

    def add(self, block: Samples) -> None:
        """Append a block; `writeframes` corrects the length in the header each time."""
        self._file.writeframes(block.astype("<i2").tobytes())


def _pink(random: np.random.Generator, samples: int) -> Wave:
    """Noise whose power falls by 3 dB an octave, as ventilation and distant talk do; RMS 1."""
    spectrum = np.fft.rfft(random.standard_normal(samples))
    frequency = np.maximum(np.fft.rfftfreq(samples, 1 / RATE_HZ), 20.0)
    shaped = np.fft.irfft(spectrum / np.sqrt(frequency), samples)
    return np.asarray(shaped / np.sqrt(np.mean(shaped**2)))


def _beeps(samples: int) -> Wave:
    """A monitor's pulse tone, RMS 1."""
    at = np.arange(samples) / RATE_HZ
    sounding = (at % (60 / _BEEPS_PER_MINUTE)) < _BEEP_S
    tone = np.sin(2 * np.pi * _BEEP_HZ * at) * sounding
    return np.asarray(tone / np.sqrt(np.mean(tone**2)))
