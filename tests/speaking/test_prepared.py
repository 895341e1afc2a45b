"""What is rendered beforehand is there when the voice is not."""

from pathlib import Path

import pytest

from assistant.audio.sound import silence
from assistant.errors import BadInput
from assistant.site.site import load_site
from assistant.speaking.prepared import PreparedVoice

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
