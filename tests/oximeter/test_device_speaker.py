"""The watcher's own loudspeaker: a real output stream, onto a sound card that is a file."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.attention_tone import attention_tone
from assistant.audio.sound import RATE_HZ
from assistant.clock import SoundClock
from assistant.oximeter.device_speaker import FRESH_S, RETRY_S, DeviceSpeaker
from tests.audio.played_portaudio import PlayedPortAudio

ROOT = Path(__file__).parents[2]
ALSA = Path("/usr/share/alsa/alsa.conf")
CARD = """
<{alsa}>
pcm.!default {{
  type plug
  slave.pcm {{ type file slave.pcm {{ type null }} file "{file}" format "raw" }}
  hint {{ show on description "a file" }}
}}
"""
GAP_SAMPLES = 1000
"""So much silence parts one sound from the next."""
SAY = """
import time
from assistant.clock import MonotonicClock
from assistant.oximeter.device_speaker import DeviceSpeaker
from assistant.audio.attention_tone import attention_tone
clock = MonotonicClock()
speaker = DeviceSpeaker(clock)
for _ in range(2):
    print(speaker.fault or "open", speaker.say(attention_tone()) > clock.now_s())
    time.sleep(1.0)
speaker.close()
"""


@pytest.mark.needs("libasound2-plugins")  # and with it, what comes with ALSA
def test_a_call_reaches_the_card_each_time(tmp_path: Path) -> None:
    """What is said arrives whole and unchanged at the sound card, and so it does again."""
    card, file = tmp_path / "asound.conf", tmp_path / "card.raw"
    card.write_text(CARD.format(alsa=ALSA, file=file), "utf-8")

    done = subprocess.run(
        [sys.executable, "-c", SAY],
        cwd=ROOT,
        env={**os.environ, "ALSA_CONFIG_PATH": str(card)},
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout.split() == ["open", "True"] * 2
    played = np.fromfile(file, dtype=np.int16)
    tone = np.trim_zeros(attention_tone())
    sounding = np.flatnonzero(played)
    starts = sounding[np.flatnonzero(np.diff(sounding, prepend=-GAP_SAMPLES) >= GAP_SAMPLES)]
    assert len(starts) == 2
    for start in starts:
        assert np.array_equal(played[start : start + len(tone)], tone)


def test_without_a_card_it_says_that_nobody_hears() -> None:
    """With no device the call ends when it starts, so that somebody else says it."""
    clock = SoundClock()
    speaker = DeviceSpeaker(clock, device="there is no such device")

    assert speaker.fault
    assert speaker.say(attention_tone()) == clock.now_s()


@pytest.mark.parametrize(("rate_hz", "channels"), [(16_000.0, 1), (16_000.0, 2), (48_000.0, 2)])
def test_a_call_is_played_on_a_loudspeaker_of_any_kind(
    monkeypatch: pytest.MonkeyPatch, rate_hz: float, channels: int
) -> None:
    """Whole, at the device's own rate and on each of its channels; the device is a stand-in."""
    audio = PlayedPortAudio()
    audio.rates_hz, audio.usual_hz, audio.channels = {rate_hz}, rate_hz, {channels}
    monkeypatch.setitem(sys.modules, "sounddevice", audio)
    clock, tone = SoundClock(), attention_tone()
    speaker = DeviceSpeaker(clock)
    stream = audio.opened["output"]

    assert (speaker.fault, speaker.say(tone)) == ("", clock.now_s() + len(tone) / RATE_HZ)
    played = stream.ask(round(len(tone) / RATE_HZ * rate_hz))

    assert played.shape[1] == channels
    assert (played == played[:, :1]).all()
    again = played[:: round(rate_hz / RATE_HZ), 0].astype(float)
    likeness = np.corrcoef(again, tone[: len(again)])[0, 1]
    assert likeness > 0.99
    assert not stream.ask(100).any()


@pytest.mark.parametrize(("gone_s", "plays"), [(FRESH_S - 1, True), (FRESH_S + 1, False)])
def test_what_comes_back_says_what_is_still_news(
    monkeypatch: pytest.MonkeyPatch, gone_s: float, plays: bool
) -> None:
    """From its beginning; and whatever is called from then on."""
    audio = PlayedPortAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", audio)
    clock, tone = SoundClock(), attention_tone()
    speaker = DeviceSpeaker(clock)
    speaker.say(tone)
    audio.opened["output"].ask(100)
    clock.move_to(gone_s)
    speaker._reopen()

    assert audio.opened["output"].ask(RATE_HZ).any() == plays
    assert not speaker.missed()
    speaker.say(tone)
    assert audio.opened["output"].ask(RATE_HZ).any()


def test_a_call_that_is_made_while_the_loudspeaker_opens_is_not_lost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Just as it finds that the last one is no news any more."""
    audio = PlayedPortAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", audio)
    clock, tone = SoundClock(), attention_tone()
    speaker = DeviceSpeaker(clock)
    speaker.say(tone)
    audio.opened["output"].ask(RATE_HZ)
    clock.move_to(RETRY_S + FRESH_S)
    look, now_s, said_s = clock.now_s, clock.now_s(), speaker._said_s

    def called_meanwhile() -> float:
        monkeypatch.setattr(clock, "now_s", look)
        speaker.say(tone)
        speaker._said_s = said_s  # which the other thread has read before
        return now_s

    monkeypatch.setattr(clock, "now_s", called_meanwhile)
    speaker._drop_old_news()

    assert audio.opened["output"].ask(RATE_HZ).any()
