"""Rooms and noises: what lies between a mouth and the microphone."""

from collections.abc import Callable, Iterator
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from assistant.audio.noise import pink
from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ, Samples

SNR_DB = (None, 20.0, 10.0, 5.0)
"""Loudness of the voice over the noise; None: no noise at all."""
NOISES = ("pink", "hum", "beeps", "babble", "suction", "own voice")
DISTANCES_M = {"close": None, "trolley": 0.6, "across": 2.5}
"""None: no room. The room is a bay of 6 x 5 x 3 m with half a second of reverberation."""

_REVERBERATION_S = 0.5
_PULSE_PER_MIN = 88
_SILENCE = 1e-18
"""No sound is taken to have less power."""


def in_room(speech: Samples, distance: str) -> np.ndarray:
    """As it arrives at the microphone, with the room's tail."""
    distance_m = DISTANCES_M[distance]
    wave = speech.astype(np.float64)
    if distance_m is None:
        return wave
    return arrived(wave, _response(distance_m))


def arrived(wave: np.ndarray, response: np.ndarray) -> np.ndarray:
    """With the tail of a room whose impulse response that is, and as loud as it was."""
    from scipy.signal import fftconvolve  # takes a second to import, and most sounds no room

    sound = fftconvolve(wave, response)
    level = np.sqrt(np.mean(wave**2) / max(_SILENCE, np.mean(sound[: len(wave)] ** 2)))
    return np.asarray(sound * level)


def in_noise(
    wave: np.ndarray, noise: str, snr_db: float | None, seed: int, talk: Callable[[int], Samples]
) -> Samples:
    """With a noise below it, which begins a little before and ends a second after it.

    `talk(n)` gives the n-th voice of a babble; below 0, the assistant's own.
    """
    sound = np.pad(wave, (round(0.6 * RATE_HZ), RATE_HZ))
    if snr_db is not None:
        around = made(noise, len(sound), np.random.default_rng(seed), talk)
        level = np.sqrt(np.mean(wave**2)) * 10 ** (-snr_db / 20)
        sound += around / max(1e-9, np.sqrt(np.mean(around**2))) * level
    return np.asarray(np.clip(sound, -32768, 32767), dtype=np.int16)


def made(
    noise: str, samples: int, numbers: np.random.Generator, talk: Callable[[int], Samples]
) -> np.ndarray:
    """So much of one of the NOISES, at no loudness in particular; `talk` as for `in_noise`."""
    return _NOISE[noise](samples, numbers, talk)


def blocks(sound: Samples) -> Iterator[tuple[float, Samples]]:
    """As the microphone would give it: each whole block, and when it begins."""
    whole = sound[: len(sound) // BLOCK_SAMPLES * BLOCK_SAMPLES]
    for number, block in enumerate(whole.reshape(-1, BLOCK_SAMPLES)):
        yield number * BLOCK_S, block


@cache
def _response(distance_m: float) -> np.ndarray:
    """The impulse response of the bay, by the image-source method."""
    from pyroomacoustics import inverse_sabine  # of the extra [bench]

    size_m = (6.0, 5.0, 3.0)
    absorption, order = inverse_sabine(_REVERBERATION_S, size_m)
    mouth_m, ear_m = (2.0, 2.4, 1.6), (2.0 + distance_m, 2.5, 1.2)
    return impulse_response(size_m, absorption, order, mouth_m, ear_m)


def impulse_response(
    size_m: ArrayLike,
    absorption: float,
    order: int,
    mouth_m: ArrayLike,
    ear_m: ArrayLike,
) -> np.ndarray:
    """Of a room with walls of that absorption, from just before the direct sound; `order`: of the
    last reflection."""
    import pyroomacoustics  # of the extra [bench]

    room = pyroomacoustics.ShoeBox(
        size_m, RATE_HZ, materials=pyroomacoustics.Material(absorption), max_order=order
    )
    room.add_source(mouth_m)
    room.add_microphone(ear_m)
    room.compute_rir()
    response = np.asarray(room.rir[0][0])
    return response[max(0, int(np.argmax(np.abs(response))) - 40) :]


def _pink(length: int, chance: np.random.Generator, _talk: object) -> np.ndarray:
    return pink(length, chance)


def _hum(length: int, chance: np.random.Generator, _talk: object) -> np.ndarray:
    at_s = np.arange(length) / RATE_HZ
    mains_hz = chance.choice([50.0, 60.0])
    tones = [np.sin(2 * np.pi * mains_hz * n * at_s + n) / n for n in range(1, 8)]
    return np.asarray(np.sum(tones, axis=0))


def _beeps(length: int, chance: np.random.Generator, talk: object) -> np.ndarray:
    """A pulse tone that changes its pitch, over a little pink noise."""
    sound = 0.02 * _unit(_pink(length, chance, talk))
    every = int(60 / _PULSE_PER_MIN * RATE_HZ)
    for start in range(int(chance.integers(every)), length, every):
        long = min(int(0.09 * RATE_HZ), length - start)
        at_s = np.arange(long) / RATE_HZ
        sound[start : start + long] += np.sin(2 * np.pi * chance.uniform(450, 950) * at_s)
    return sound


def _babble(length: int, chance: np.random.Generator, talk: Callable[[int], Samples]) -> np.ndarray:
    """Four people at once."""
    sound = np.zeros(length)
    for _ in range(4):
        start = -int(chance.integers(RATE_HZ))
        while start < length:
            said = talk(int(chance.integers(1 << 30))).astype(np.float64)
            place = slice(max(0, start), max(0, min(length, start + len(said))))
            sound[place] += said[place.start - start : place.stop - start]
            start += len(said) + int(chance.integers(RATE_HZ // 2))
    return sound


def _suction(length: int, chance: np.random.Generator, _talk: object) -> np.ndarray:
    """Broadband, brighter than pink, and gurgling three times a second."""
    spectrum = np.fft.rfft(chance.standard_normal(length))
    at_hz = np.fft.rfftfreq(length, 1 / RATE_HZ)
    spectrum[(at_hz < 300) | (at_hz > 7000)] = 0
    gurgle = 1 + 0.6 * np.sin(2 * np.pi * 3 * np.arange(length) / RATE_HZ)
    return np.fft.irfft(spectrum, length) * gurgle


def _own_voice(
    length: int, chance: np.random.Generator, talk: Callable[[int], Samples]
) -> np.ndarray:
    """What a loudspeaker leaves of the assistant's own sentence when its echo is cancelled."""
    said = talk(-1 - int(chance.integers(1 << 30))).astype(np.float64)
    return np.resize(np.pad(said, (0, RATE_HZ // 4)), length)


def _unit(wave: np.ndarray) -> np.ndarray:
    return np.asarray(wave / np.sqrt(np.mean(wave**2)))


_NOISE: dict[str, Callable[..., np.ndarray]] = {
    "pink": _pink,
    "hum": _hum,
    "beeps": _beeps,
    "babble": _babble,
    "suction": _suction,
    "own voice": _own_voice,
}
