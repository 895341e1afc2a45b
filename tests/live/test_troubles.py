"""What is wrong with the sound is noticed, told once, and told from a quiet room."""

from pathlib import Path

import numpy as np
import pytest

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ, silence
from assistant.clock import SoundClock
from assistant.live.troubles import DEAD_AFTER_S, LASTING_S, Troubles
from assistant.site.site import load_site
from tests.live.box import room_noise

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


class StubCard:
    """Stands in for a sound card: what it says of itself is set by the test."""

    fault = ""
    overruns = 0
    speaks = True

    @property
    def open(self):
        return not self.fault


class Line:
    """Feeds the watch over a sound card and its line, and keeps what it tells."""

    def __init__(self) -> None:
        self.card = StubCard()
        self.clock = SoundClock()
        self.says = load_site(SITE).wording.live
        self.troubles = Troubles(self.card, self.says, self.clock)

    def hear(self, sound, for_s):
        """So many seconds of this sound, over and over; returns what was told meanwhile."""
        told = []
        looped = np.resize(sound, round(for_s / BLOCK_S) * BLOCK_SAMPLES)
        for block in looped.reshape(-1, BLOCK_SAMPLES):
            self.troubles.hear(block, self.clock.now_s())
            self.clock.move_to(self.clock.now_s() + BLOCK_S)
            told += self.troubles.news()
        return told


@pytest.fixture
def line() -> Line:
    return Line()


def hum(level=1500.0):
    """Mains hum, 50 Hz with some harmonics, over a room's noise."""
    at_s = np.arange(2 * RATE_HZ) / RATE_HZ
    wave = sum(level / 2**n * np.sin(2 * np.pi * 50 * (n + 1) * at_s) for n in range(3))
    return (wave + room_noise(2.0)).astype(np.int16)


def test_a_quiet_room_is_no_dead_line(line):
    """One bit of noise is enough to be a room, for as long as it may take."""
    assert line.hear(room_noise(10.0, level=1.0), 300) == []


def test_a_dead_line_is_said_once_and_its_return_too(line):
    """Said, buzzed and shown after a while of nothing at all; later that it hears again."""
    assert line.hear(room_noise(10.0), 20) == []
    told = line.hear(silence(1.0), 120)
    assert [(one.say, one.buzz) for one in told] == [(line.says.microphone_silent, True)]
    assert line.troubles.dead

    told = line.hear(room_noise(10.0), 20)
    assert [one.say for one in told] == [line.says.sound_back]
    assert not line.troubles.dead


def test_a_short_gap_is_no_dead_line(line):
    """A device's noise gate may shut for a few seconds in a quiet room."""
    for _ in range(5):
        assert line.hear(silence(1.0), DEAD_AFTER_S - 1) == []
        assert line.hear(room_noise(10.0), 5) == []


def test_a_line_that_came_back_by_itself_is_given_longer(line):
    """What turned out to be a noise gate is not called dead at every pause."""
    assert len(line.hear(silence(1.0), 30)) == 1
    line.hear(room_noise(10.0), 10)
    assert line.hear(silence(1.0), 1.5 * DEAD_AFTER_S) == []


def test_a_hum_that_lasts_is_told_once(line):
    """Not for a moment of it, and not again while it comes and goes."""
    assert line.hear(hum(), LASTING_S / 2) == []
    line.hear(room_noise(10.0), 10)
    told = line.hear(hum(), 60)
    assert [one.say for one in told] == [line.says.line_hums]
    line.hear(room_noise(10.0), 10)
    assert line.hear(hum(), 60) == []


def test_a_line_that_is_turned_up_too_far_is_told(line):
    """Samples that stand at full scale."""
    told = line.hear((hum(20.0).astype(np.float64) * 4000).clip(-32768, 32767).astype(np.int16), 30)
    assert line.says.microphone_clipped in [one.say for one in told]


def test_a_faint_voice_is_told_when_it_was_one(line):
    """By the utterance alone: the room between words is always fainter."""
    faint = room_noise(10.0, level=40.0)
    assert line.hear(faint, 20) == []
    now_s = line.clock.now_s()
    line.troubles.voice(now_s - 2.0, now_s)

    told = line.hear(faint, 30)

    assert [one.say for one in told] == [line.says.voice_faint]


def test_a_card_that_is_lost_and_back_is_told_once_each(line):
    """With the loudspeaker left it is said at once; without it, the buzzer tells."""
    line.card.fault = "unplugged"
    told = line.hear(room_noise(1.0), 20)
    assert [(one.text, one.say, one.buzz) for one in told] == [
        ("sound lost: unplugged", None, True),
        ("the loudspeaker is left", line.says.microphone_lost, False),
    ]
    line.card.fault = ""
    assert [one.say for one in line.hear(room_noise(1.0), 20)] == [line.says.sound_back]

    line.card.fault, line.card.speaks = "unplugged", False
    assert [(one.say, one.buzz) for one in line.hear(room_noise(1.0), 20)] == [(None, True)]
    line.card.speaks = True
    assert [one.say for one in line.hear(room_noise(1.0), 20)] == [line.says.microphone_lost]


def test_sound_that_was_missed_is_recorded_each_time_and_said_once(line):
    """An overrun may have cost a word; that is said, but not all the time."""
    line.card.overruns = 3
    told = line.hear(room_noise(10.0), 5)
    assert [one.say for one in told] == [line.says.sound_missed]
    assert "3 times" in told[0].text
    line.card.overruns = 4
    told = line.hear(room_noise(10.0), 5)
    assert [(one.say, "1 times" in one.text) for one in told] == [(None, True)]
