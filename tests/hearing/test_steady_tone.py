"""A monitor's alarm is nobody's answer, and hides none."""

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples, scaled
from assistant.grammar.readings import Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.hearing.steady_tone import is_steady_tone
from assistant.speaking.voices import VoiceSettings, open_voice
from tests.live.box import room_noise
from tests.live.monitor_sounds import high_priority_alarm


def beside(sound: Samples, other: Samples, at_s: float) -> Samples:
    """Both at once, the other from `at_s` on."""
    whole = sound.astype(np.int32)
    start = round(at_s * RATE_HZ)
    whole[start : start + len(other)] += other[: len(whole) - start]
    return np.asarray(np.clip(whole, -32768, 32767), np.int16)


@pytest.mark.parametrize("pitch_hz", [150.0, 262.0, 440.0, 880.0])
def test_an_alarm_of_one_pitch_is_read_as_nothing(ear: Ear, pitch_hz: float) -> None:
    """Whatever its notes sound like to a recogniser."""
    alarm = beside(high_priority_alarm(3.0, pitch_hz), room_noise(3.0), 0.0)

    assert all(one.reading.verdict is Verdict.IGNORE for one in hear_file(ear, alarm))
    assert is_steady_tone(alarm[: round(0.8 * RATE_HZ)])


@pytest.mark.parametrize("words", ["no", "yes", "stop", "mmm", "oh"])
@pytest.mark.parametrize(
    "voice",
    [
        VoiceSettings(engine="natural", name="joe"),
        VoiceSettings(engine="espeak", name="en-gb-scotland", words_per_minute=120),
    ],
    ids=["natural", "robotic"],
)
def test_no_word_is_a_tone_beside_an_alarm_or_without(voice: VoiceSettings, words: str) -> None:
    """Even a drawn-out vowel moves; and so it does half as loud as the alarm."""
    spoken = open_voice(voice).render(words)
    alarm = high_priority_alarm(1.4, 262.0)
    level_db = 20 * np.log10(np.abs(alarm).max() / np.abs(spoken).max()) - 6.0

    assert not is_steady_tone(spoken)
    assert not is_steady_tone(beside(alarm, scaled(spoken, float(level_db)), 0.3))
