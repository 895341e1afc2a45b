"""Opening a device: what it is asked for, and in which order; the devices are stand-ins."""

import sys

import numpy as np
import pytest

from assistant.audio.devices import (
    DeviceFault,
    look_again,
    open_loudspeaker,
    open_microphone,
)
from assistant.audio.sound import BLOCK_S, Samples
from tests.audio.played_portaudio import PlayedPortAudio


@pytest.fixture
def audio(monkeypatch: pytest.MonkeyPatch) -> PlayedPortAudio:
    """A machine with one loudspeaker and one microphone, both stand-ins."""
    made = PlayedPortAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", made)
    return made


KINDS = [
    # rates, the usual one, channels; what is opened
    ({16_000.0, 48_000.0}, 48_000.0, {1, 2}, (16_000.0, 1)),
    ({44_100.0, 48_000.0}, 48_000.0, {1, 2}, (48_000.0, 1)),
    ({16_000.0, 48_000.0}, 48_000.0, {2}, (16_000.0, 2)),
    ({44_100.0}, 44_100.0, {2, 4}, (44_100.0, 2)),
]


def test_a_device_is_asked_for_what_it_does(audio: PlayedPortAudio) -> None:
    """16 kHz and one channel before its own rate, one channel before two."""
    for audio.rates_hz, audio.usual_hz, audio.channels, opened in KINDS:
        loudspeaker = open_loudspeaker(None, lambda _: None)
        microphone = open_microphone(None, lambda *_: None)
        for device, kind in ((loudspeaker, "output"), (microphone, "input")):
            stream = audio.opened[kind]
            assert (stream.samplerate, stream.channels) == opened
            assert device.rate_hz == opened[0]
            assert device.active


def test_a_microphone_may_be_asked_at_its_own_rate_at_once(audio: PlayedPortAudio) -> None:
    """For one that says that it does 16 kHz, and does not."""
    audio.rates_hz, audio.usual_hz = {16_000.0, 44_100.0}, 44_100.0
    assert open_microphone(None, lambda *_: None, own_rate=True).rate_hz == 44_100.0


@pytest.mark.parametrize("channels", [1, 2])
def test_what_is_given_and_written_comes_out_of_every_channel(
    audio: PlayedPortAudio, channels: int
) -> None:
    """A loudspeaker of two channels plays the same on both; what nobody fills is silence."""
    audio.channels = {channels}
    sound = np.arange(100, dtype=np.int16)

    def give(buffer: Samples) -> None:
        buffer[:50] = sound[:50]

    open_loudspeaker(None, give)
    given = audio.opened["output"].ask(100)
    open_loudspeaker(None).write(sound)
    (written,) = audio.opened["output"].written

    for channel in range(channels):
        assert given[:, channel].tolist() == [*range(50), *[0] * 50]
        assert written[:, channel].tolist() == [*range(100)]


def test_a_microphone_with_one_of_two_channels_plugged_in_is_heard(audio: PlayedPortAudio) -> None:
    """Whichever it is; and it is told when sound was lost before."""
    audio.channels = {2}
    heard: list[tuple[Samples, bool]] = []
    open_microphone(None, lambda chunk, lost: heard.append((chunk, lost)))
    for number, lost in ((0, False), (1, True)):
        chunk = np.zeros((512, 2), np.int16)
        chunk[:, number] = 1000
        audio.opened["input"].hear(chunk, lost=lost)

    assert [(chunk.tolist(), lost) for chunk, lost in heard] == [
        ([500] * 512, False),
        ([500] * 512, True),
    ]


def test_what_was_heard_stays_when_portaudio_reuses_its_buffer(audio: PlayedPortAudio) -> None:
    """PortAudio lends its buffer for the time of the call only."""
    heard: list[Samples] = []
    open_microphone(None, lambda chunk, _: heard.append(chunk))
    chunk = np.full((round(BLOCK_S * 16_000), 1), 5, np.int16)
    audio.opened["input"].hear(chunk)
    chunk.fill(0)
    assert heard[0].tolist() == [5] * 512


def test_no_device_is_said_in_one_line(audio: PlayedPortAudio) -> None:
    """None of that name, and one that does nothing of what is asked."""
    audio.channels = {6}
    for order in (open_loudspeaker, lambda name: open_microphone(name, lambda *_: None)):
        with pytest.raises(DeviceFault, match=r"^invalid number of channels$"):
            order(None)
    audio.there = set()
    with pytest.raises(DeviceFault, match="no output device"):
        open_loudspeaker("such")
    with pytest.raises(DeviceFault, match="no input device"):
        open_microphone("such", lambda *_: None)


def test_a_machine_without_portaudio_has_no_devices(monkeypatch: pytest.MonkeyPatch) -> None:
    """sounddevice raises OSError when it is imported there; a stand-in for such a machine."""

    class Absent:
        def find_spec(self, name: str, path: object = None, target: object = None) -> None:
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Absent(), *sys.meta_path])
    for order in (look_again, lambda: open_loudspeaker(None)):
        with pytest.raises(DeviceFault, match="PortAudio library not found"):
            order()
