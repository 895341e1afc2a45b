"""Steady noise is turned down, and nothing else."""

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples
from assistant.hearing.engines.closed.suppression import without_noise

BEFORE = round(0.3 * RATE_HZ)
WORD = slice(BEFORE, BEFORE + RATE_HZ // 2)
NOISE_LEVEL, WORD_LEVEL = 500.0, 2500.0


def utterance(before_level: float, word_level: float, after_level: float) -> Samples:
    """White noise throughout, and half a second of a voice-like sound with a little of it around:
    harmonics of 120 Hz."""
    length = WORD.stop + BEFORE
    wave = np.random.default_rng(3).standard_normal(length)
    wave[: WORD.start] *= before_level
    wave[WORD] *= NOISE_LEVEL
    wave[WORD.stop :] *= after_level
    at_s = np.arange(length)[WORD] / RATE_HZ
    voice = np.sum([np.sin(2 * np.pi * 120 * n * at_s) for n in range(1, 12)], axis=0)
    wave[WORD] += voice / np.sqrt(np.mean(voice**2)) * word_level
    return wave.astype(np.int16)


def level(samples: Samples) -> float:
    return float(np.sqrt(np.mean(samples.astype(np.float64) ** 2)))


def test_the_word_stands_further_above_the_noise() -> None:
    """Before it and after it, by 3 dB and more; the shape and kind of the samples stay."""
    said = utterance(NOISE_LEVEL, WORD_LEVEL, NOISE_LEVEL)

    quieter = without_noise(said)

    assert (quieter.dtype, quieter.shape) == (said.dtype, said.shape)
    for between in (slice(None, WORD.start), slice(WORD.stop, None)):
        before = level(said[WORD]) / level(said[between])
        after = level(quieter[WORD]) / level(quieter[between])
        assert after > before * 10 ** (3 / 20)


@pytest.mark.parametrize(
    "said",
    [
        pytest.param(utterance(0.0, WORD_LEVEL, 0.0), id="digital silence before it"),
        pytest.param(utterance(WORD_LEVEL, WORD_LEVEL, NOISE_LEVEL), id="spoken at once"),
        pytest.param(utterance(NOISE_LEVEL, WORD_LEVEL, NOISE_LEVEL)[: BEFORE + 100], id="short"),
        pytest.param(np.zeros(0, np.int16), id="nothing"),
    ],
)
def test_what_tells_nothing_of_the_noise_stays_as_it_is(said: Samples) -> None:
    """Else the first word would be taken for the noise, and taken out."""
    assert without_noise(said) is said


def test_the_gate_is_noisereduces_own() -> None:
    """To within rounding: the package's stationary gate (noisereduce 3.0.3) is the reference."""
    from noisereduce import reduce_noise  # all that a worker collects would wait for its imports

    random = np.random.default_rng(11)
    for loud in (20.0, 150.0, 700.0):
        for seconds in (0.9, 1.7, 4.1):
            said = np.zeros(round(seconds * RATE_HZ))
            said[BEFORE:] = 3000 * np.sin(np.cumsum(random.normal(0.2, 0.05, len(said) - BEFORE)))
            noisy = np.clip(said + loud * random.standard_normal(len(said)), -32768, 32767)
            samples = noisy.astype(np.int16)
            expected = reduce_noise(
                y=samples.astype(np.float32),
                sr=RATE_HZ,
                y_noise=samples[:BEFORE].astype(np.float32),
                stationary=True,
                prop_decrease=0.7,
            )
            expected = np.clip(expected, -32768, 32767).astype(np.int16)
            differ = np.abs(without_noise(samples).astype(int) - expected.astype(int))
            assert differ.max() <= 1, (loud, seconds)
