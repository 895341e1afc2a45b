"""What is rendered beforehand is there when the voice is not."""

from pathlib import Path

import pytest

from assistant.audio.sound import silence
from assistant.errors import BadInput
from assistant.site.site import load_site
from assistant.speaking.prepared import FIRST_REST_S, PreparedVoice

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


class FailingVoice:
    """Speaks until it fails; each text is a silence of its own length."""

    fails = False

    def render(self, text):
        if self.fails:
            raise BadInput("no voice")
        return silence(len(text) / 100)


def test_what_was_prepared_outlives_the_voice():
    """From memory, the same sound; everything else is the voice's own fault."""
    voice = FailingVoice()
    prepared = PreparedVoice(voice)
    prepared.prepare(["in need"])
    voice.fails = True

    assert len(prepared.render("in need")) == len(silence(0.07))
    with pytest.raises(BadInput):
        prepared.render("anything else")


class HangingVoice(FailingVoice):
    """Fails after a wait, as one whose child gives no answer."""

    def __init__(self):
        self.at_s = 0.0
        self.asked = 0
        self.waits_s = 12.0

    def render(self, text):
        self.asked += 1
        if self.fails:
            self.at_s += self.waits_s
        return super().render(text)


def fails(prepared, text):
    with pytest.raises(BadInput):
        prepared.render(text)


def test_a_voice_that_hangs_is_left_alone_for_a_while():
    """The next sentences fail at once, and what is ready is heard; then it is tried again."""
    voice = HangingVoice()
    prepared = PreparedVoice(voice, lambda: voice.at_s)
    prepared.prepare(["Saturation ninety-three."])
    voice.fails, voice.asked = True, 0

    fails(prepared, "one")
    for text in ("two", "three"):
        fails(prepared, text)
    assert (voice.asked, voice.at_s) == (1, 12.0)
    assert len(prepared.render("Saturation ninety-three."))

    voice.at_s += FIRST_REST_S
    fails(prepared, "four")
    voice.at_s += FIRST_REST_S + 1
    fails(prepared, "five")
    assert voice.asked == 2

    voice.at_s += FIRST_REST_S
    voice.fails = False
    assert len(prepared.render("six"))
    assert len(prepared.render("seven"))


def test_a_voice_that_fails_at_once_is_asked_again():
    """It costs nobody's time."""
    voice = HangingVoice()
    voice.fails, voice.waits_s = True, 0.1
    prepared = PreparedVoice(voice, lambda: voice.at_s)

    for text in ("one", "two"):
        fails(prepared, text)
    assert voice.asked == 2


def test_the_phrases_for_need_are_complete():
    """Each that tells of a loss, and none with something to fill in."""
    wording = load_site(SITE).wording
    phrases = wording.for_need()

    assert not [phrase for phrase in phrases if "{" in phrase]
    assert {
        wording.says.record_lost,
        wording.says.watcher_lost,
        wording.live.sound_back,
        wording.live.not_spoken,
        wording.live.restarted,
        wording.live.microphone_lost,
        wording.live.microphone_silent,
        wording.live.microphone_clipped,
        wording.live.line_hums,
        wording.live.voice_faint,
        wording.live.nothing_understood,
        wording.live.sound_missed,
    } <= set(phrases)
