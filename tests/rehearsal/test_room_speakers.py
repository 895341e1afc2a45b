"""The room of a rehearsal played aloud, on devices that are stand-ins."""

import sys

import numpy as np
import pytest

from assistant.audio.sound import BLOCK_SAMPLES, RATE_HZ
from assistant.errors import BadInput
from assistant.rehearsal.loudspeaker import Player
from tests.audio.played_portaudio import PlayedPortAudio


@pytest.mark.parametrize(("rate_hz", "channels"), [(16_000.0, 1), (16_000.0, 2), (48_000.0, 2)])
def test_the_room_is_played_on_a_loudspeaker_of_any_kind(
    monkeypatch: pytest.MonkeyPatch, rate_hz: float, channels: int
) -> None:
    """At its pitch, and on each channel."""
    audio = PlayedPortAudio()
    audio.rates_hz, audio.usual_hz, audio.channels = {rate_hz}, rate_hz, {channels}
    monkeypatch.setitem(sys.modules, "sounddevice", audio)
    at_s = np.arange(RATE_HZ) / RATE_HZ
    tone = np.asarray(8000 * np.sin(2 * np.pi * 500 * at_s), np.int16)
    with Player() as player:
        for at in range(0, RATE_HZ - BLOCK_SAMPLES, BLOCK_SAMPLES):
            player.play(tone[at : at + BLOCK_SAMPLES])

    stream = audio.opened["output"]
    played = np.concatenate(stream.written)
    assert not stream.active
    assert (played == played[:, :1]).all()
    power = np.abs(np.fft.rfft(played[:, 0] * np.hanning(len(played))))
    loudest_hz = np.fft.rfftfreq(len(played), 1 / rate_hz)[int(np.argmax(power))]
    assert loudest_hz == pytest.approx(500, abs=3)
    assert len(played) / rate_hz == pytest.approx(1.0, abs=0.1)


def test_without_a_loudspeaker_it_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """In one sentence that says how to go on."""
    audio = PlayedPortAudio()
    audio.there = set()
    monkeypatch.setitem(sys.modules, "sounddevice", audio)
    with pytest.raises(BadInput, match=r"no output device.*allowed: no --play\.$"), Player():
        pass
