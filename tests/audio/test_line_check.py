"""What is wrong with a microphone's line, told from its sound."""

import numpy as np
import pytest

from assistant.audio.levels import level_dbfs
from assistant.audio.line_check import LineCheck, LineFault
from assistant.audio.sound import BLOCK_SAMPLES, RATE_HZ, Samples, scaled, silence
from assistant.speaking.voices import VoiceSettings, open_voice

SECONDS = np.arange(5 * RATE_HZ) / RATE_HZ


def told(stream: Samples, voice: Samples | None = None) -> tuple[LineFault, ...]:
    line = LineCheck()
    whole = len(stream) // BLOCK_SAMPLES * BLOCK_SAMPLES
    for block in stream[:whole].reshape(-1, BLOCK_SAMPLES):
        line.feed(block)
    if voice is not None:
        line.voice(voice)
    return line.faults


def hum(mains_hz: float) -> np.ndarray:
    """A mains hum with its harmonics, falling by half each."""
    return sum(2000 / 2**n * np.sin(2 * np.pi * mains_hz * (n + 1) * SECONDS) for n in range(4))


def room() -> np.ndarray:
    """A quiet room's noise."""
    return np.random.default_rng(7).normal(0, 20, len(SECONDS))


@pytest.fixture
def talk() -> Samples:
    """Five seconds of somebody talking in a quiet room."""
    said = open_voice(VoiceSettings()).render("We should order some lunch soon.")
    return (np.resize(said, len(SECONDS)) + room()).astype(np.int16)


def test_a_voice_in_a_quiet_room_is_all_right(talk: Samples) -> None:
    """Nothing to tell."""
    assert told(talk, voice=talk) == ()


def test_a_quiet_room_is_all_right() -> None:
    """Nobody talking is no fault."""
    assert told(room().astype(np.int16)) == ()


@pytest.mark.parametrize("value", [0, -1, 512])
def test_a_dead_line_is_told(value: int) -> None:
    """An unplugged input gives the same sample for ever, often zero."""
    assert told(np.full(5 * RATE_HZ, value, np.int16)) == (LineFault.DEAD,)


@pytest.mark.parametrize("mains_hz", [50, 60, 49.9, 60.1])
def test_a_hum_is_told(mains_hz: float) -> None:
    """At the mains frequencies of the world, and as far off as grids drift."""
    assert told((hum(mains_hz) + room()).astype(np.int16)) == (LineFault.HUM,)


def test_a_voice_over_a_hum_does_not_hide_it(talk: Samples) -> None:
    """The hum as loud as the voice."""
    assert LineFault.HUM in told(np.clip(talk * 0.2 + hum(50), -32768, 32767).astype(np.int16))


def test_a_steady_tone_elsewhere_is_no_hum() -> None:
    """A monitor's beep is not the mains."""
    beep = 2000 * np.sin(2 * np.pi * 880 * SECONDS)

    assert told((beep + room()).astype(np.int16)) == ()


def test_clipping_is_told(talk: Samples) -> None:
    """A microphone turned up by 20 dB too much."""
    assert told(scaled(talk, 20)) == (LineFault.CLIPPED,)


def test_a_faint_voice_is_told_until_a_louder_one(talk: Samples) -> None:
    """The last utterance counts."""
    assert told(scaled(talk, -40), voice=scaled(talk, -40)) == (LineFault.FAINT,)
    assert told(talk, voice=talk) == ()


def test_nothing_is_told_before_four_seconds_were_heard() -> None:
    """A line that has only just been opened may still be silent."""
    assert told(silence(3)) == ()


def test_levels_are_relative_to_full_scale() -> None:
    """A full-scale sine has -3.01 dBFS, silence the floor (IEC 61606 counts from the sine: +3)."""
    sine = (32767 * np.sin(2 * np.pi * 1000 * SECONDS)).astype(np.int16)

    assert level_dbfs(sine) == pytest.approx(-3.01, abs=0.01)
    assert level_dbfs(silence(1)) == pytest.approx(-96.0, abs=0.01)
