"""What a tone makes of a block, told apart from a voice."""

from collections.abc import Callable

import numpy as np
import pytest

from assistant.audio.levels import level_dbfs
from assistant.audio.sound import BLOCK_SAMPLES, RATE_HZ, Samples, mixed, scaled
from assistant.hearing.pulse_tone import level_without_tone_dbfs


def _pulse_tone(pitch_hz: float) -> Samples:
    """With two overtones, as loud as a voice; long enough for one block."""
    at_s = np.arange(BLOCK_SAMPLES) / RATE_HZ
    tones = [np.sin(2 * np.pi * pitch_hz * n * at_s) / n**2 for n in (1, 2, 3)]
    return (3000 * np.sum(tones, axis=0)).astype(np.int16)


@pytest.fixture
def loud_blocks(say, blocks) -> Callable[..., list[Samples]]:
    """Those of a spoken sentence that are no softer than 6 dB below all of it."""

    def of(text: str, kind: str = "natural") -> list[Samples]:
        voice = say(text, kind)
        return [block for _, block in blocks(voice) if level_dbfs(block) > level_dbfs(voice) - 6]

    return of


@pytest.mark.parametrize("pitch_hz", [440, 620, 880, 1319])
def test_of_a_bare_tone_little_is_left(pitch_hz: float) -> None:
    """Twenty decibels less: far below what could hide a soft word."""
    tone = _pulse_tone(pitch_hz)

    assert level_without_tone_dbfs(tone) < level_dbfs(tone) - 20


@pytest.mark.parametrize("kind", ["natural", "robot"])
def test_a_voice_is_as_loud_as_before(loud_blocks, kind: str) -> None:
    """Its own harmonics are not taken for a tone."""
    loud = loud_blocks("If we saw both sides rise alike.", kind)
    lost_db = [level_dbfs(block) - level_without_tone_dbfs(block) for block in loud]

    assert len(loud) > 10
    assert np.percentile(lost_db, 90) < 3


@pytest.mark.parametrize("pitch_hz", [440, 880])
def test_a_word_under_a_tone_is_told_about_as_loud_as_it_is(loud_blocks, pitch_hz: float) -> None:
    """The tone is 6 dB louder than the word."""
    tone = _pulse_tone(pitch_hz)
    told_db = []
    for word in loud_blocks("Unless we saw it."):
        louder = scaled(tone, level_dbfs(word) + 6 - level_dbfs(tone))
        told_db.append(level_without_tone_dbfs(mixed(word, louder)) - level_dbfs(word))

    assert np.percentile(told_db, 10) > -3


def test_silence_is_silence() -> None:
    """No division by nothing."""
    assert level_without_tone_dbfs(np.zeros(BLOCK_SAMPLES, np.int16)) == pytest.approx(-96.0)
