"""The sound card object on a PortAudio that is played: devices of any rate, late, lying or gone."""

import sys

import numpy as np
import pytest

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ
from assistant.clock import SoundClock
from assistant.live import soundcard
from assistant.live.soundcard import RETRY_S, SoundCard
from tests.audio.played_portaudio import PlayedPortAudio


class Bench:
    """A card on it, with a clock that the sound moves."""

    def __init__(self) -> None:
        self.audio = PlayedPortAudio()
        self.clock = SoundClock()
        self.sent = 0
        self.loudspeaker_dead = False

    def card(self) -> SoundCard:
        return SoundCard(self.clock, None, None)

    def deliver(self, seconds, rate_hz, *, lost=False, late=False):
        """The device gives so much of a tone of 1 kHz, in blocks of 32 ms of its own time."""
        frames = round(BLOCK_S * rate_hz)
        for _ in range(round(seconds / BLOCK_S)):
            at_s = (self.sent + np.arange(frames)) / rate_hz
            self.sent += frames
            chunk = np.asarray(8000 * np.sin(2 * np.pi * 1000 * at_s), np.int16)[:, None]
            if not late:
                self.clock.move_to(self.clock.now_s() + BLOCK_S)
            if not self.loudspeaker_dead:
                self.play(512)
            stream = self.audio.opened["input"]
            stream.hear(np.repeat(chunk, stream.channels, axis=1), lost=lost)
            yield

    def play(self, frames):
        """What the device asks for next."""
        out = self.audio.opened["output"].ask(frames)
        assert (out == out[:, :1]).all(), "the channels differ"
        return out[:, -1]


@pytest.fixture
def bench(monkeypatch):
    made = Bench()
    monkeypatch.setitem(sys.modules, "sounddevice", made.audio)
    return made


def pitch_hz(samples):
    """The strongest frequency."""
    power = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return np.fft.rfftfreq(len(samples), 1 / RATE_HZ)[int(np.argmax(power))]


@pytest.mark.parametrize("rate_hz", [8_000.0, 16_000.0, 32_000.0, 44_100.0, 48_000.0, 96_000.0])
@pytest.mark.parametrize("channels", [1, 2])
def test_a_microphone_of_any_kind_is_heard_at_its_pitch(bench, rate_hz, channels):
    """Blocks of 512 samples at 16 kHz, as many as the time gives, whatever the device does."""
    bench.audio.channels = {channels}
    bench.audio.rates_hz, bench.audio.usual_hz = {rate_hz}, rate_hz
    card = bench.card()
    blocks = []
    for _ in bench.deliver(3.0, rate_hz):
        while (heard := card.read(0.0)) is not None:
            blocks.append(heard)
    sound = np.concatenate([block for _, block in blocks])

    assert {len(block) for _, block in blocks} == {BLOCK_SAMPLES}
    assert len(sound) / RATE_HZ == pytest.approx(3.0, abs=0.15)
    assert pitch_hz(sound[RATE_HZ:]) == pytest.approx(1000, abs=2)
    starts_s = [began_s for began_s, _ in blocks]
    assert starts_s[-1] == pytest.approx(3.0 - BLOCK_S, abs=0.1)


@pytest.mark.parametrize("rate_hz", [16_000.0, 44_100.0, 48_000.0])
@pytest.mark.parametrize("channels", [1, 2])
def test_a_loudspeaker_of_any_kind_plays_at_the_right_pitch(bench, rate_hz, channels):
    """What is given at 16 kHz comes out at the device's own rate and on each of its channels."""
    bench.audio.channels = {channels}
    bench.audio.rates_hz, bench.audio.usual_hz = {rate_hz}, rate_hz
    card = bench.card()
    at_s = np.arange(2 * RATE_HZ) / RATE_HZ
    tone = np.asarray(8000 * np.sin(2 * np.pi * 500 * at_s), np.int16)
    for block in tone[: len(tone) // BLOCK_SAMPLES * BLOCK_SAMPLES].reshape(-1, BLOCK_SAMPLES):
        card.play(block)
    out = bench.play(round(1.5 * rate_hz))[round(0.2 * rate_hz) :]

    power = np.abs(np.fft.rfft(out * np.hanning(len(out))))
    found_hz = np.fft.rfftfreq(len(out), 1 / rate_hz)[int(np.argmax(power))]
    assert found_hz == pytest.approx(500, abs=2)


def run(bench, card, seconds, rate_hz):
    """Deliver, and look after the card as the session does; returns its faults in order."""
    faults = [card.fault]
    for _ in bench.deliver(seconds, rate_hz):
        while card.read(0.0) is not None:
            pass
        card.keep_open()
        if card.fault != faults[-1]:
            faults.append(card.fault)
    return faults


def test_a_device_that_keeps_another_rate_than_it_says_is_opened_at_its_own(bench):
    """It takes 16 kHz and gives 44.1: noticed within half a minute, told, and then right."""
    bench.audio.rates_hz, bench.audio.usual_hz = {16_000.0, 44_100.0}, 44_100.0
    card = bench.card()
    faults = run(bench, card, 40.0, 44_100.0)

    assert faults[0] == ""
    assert "another rate" in faults[1]
    assert faults[2:] == [""]
    assert bench.audio.opened["input"].samplerate == 44_100.0
    assert card.open
    assert run(bench, card, 60.0, 44_100.0) == [""]


def test_a_device_that_keeps_its_rate_is_left_alone(bench):
    """Ten minutes, a little fast, as every crystal is."""
    card = bench.card()
    assert run(bench, card, 600.0, 16_100.0) == [""]


def test_a_stall_is_not_taken_for_another_rate(bench):
    """A busy machine gives nothing for a second, then all that there was; nothing is opened."""
    card = bench.card()
    run(bench, card, 20.0, 16_000.0)
    stream = bench.audio.opened["input"]
    for _ in range(5):
        bench.clock.move_to(bench.clock.now_s() + 1.0)
        list(bench.deliver(1.0, 16_000.0, late=True))
        assert run(bench, card, 10.0, 16_000.0) == [""]
    assert bench.audio.opened["input"] is stream


def test_a_machine_that_loses_sound_now_and_then_is_not_taken_for_another_rate(bench):
    """Seven to fourteen per cent are missing in each of several windows, never equally many."""
    card = bench.card()
    run(bench, card, 10.0, 16_000.0)
    stream = bench.audio.opened["input"]
    for missing_s in (0.7, 1.1, 0.8, 1.4, 0.9, 1.3):
        bench.clock.move_to(bench.clock.now_s() + missing_s)
        run(bench, card, 10.0 - missing_s, 16_000.0)
    assert bench.audio.opened["input"] is stream


def test_an_overrun_is_counted(bench):
    """By the device's own word, and when nobody takes the sound."""
    card = bench.card()
    list(bench.deliver(BLOCK_S, RATE_HZ, lost=True))
    assert card.overruns == 1
    list(bench.deliver(soundcard.LONGEST_QUEUE_S + 1.0, RATE_HZ))
    assert card.overruns > 20


def test_a_device_that_delivers_nothing_is_gone(bench):
    """Some report no error when they are unplugged."""
    card = bench.card()
    run(bench, card, 10.0, RATE_HZ)
    bench.audio.there = {"output"}
    bench.clock.move_to(bench.clock.now_s() + 2.0)
    card.keep_open()
    assert card.fault == "the microphone delivers nothing"
    card.keep_open()
    assert card.fault == "no microphone (no input device); there is: none"


def test_a_loudspeaker_that_takes_no_sound_is_gone(bench):
    """It reports no error; nothing is said into it, and it is opened anew."""
    card = bench.card()
    run(bench, card, 10.0, RATE_HZ)
    stream = bench.audio.opened["output"]
    bench.loudspeaker_dead = True
    assert "the loudspeaker takes no sound" in run(bench, card, 5.0, RATE_HZ)
    bench.loudspeaker_dead = False
    run(bench, card, 3.0, RATE_HZ)
    assert bench.audio.opened["output"] is not stream
    assert (card.open, card.speaks) == (True, True)


def test_without_a_microphone_the_loudspeaker_is_opened_all_the_same(bench):
    """To say so; and the microphone is looked for until it is there."""
    bench.audio.there = {"output"}
    card = bench.card()
    assert (card.open, card.speaks) == (False, True)
    assert "no input device" in card.fault

    bench.audio.there = {"input", "output"}
    bench.clock.move_to(RETRY_S)
    card.keep_open()
    assert (card.open, card.speaks) == (True, True)


def test_without_a_loudspeaker_nothing_is_heard(bench):
    """Nobody could hear the questions."""
    bench.audio.there = {"input"}
    card = bench.card()
    assert (card.open, card.speaks) == (False, False)
    assert "no output device" in card.fault


def test_what_is_being_said_is_not_cut_short_by_looking_for_the_microphone(bench):
    """It is looked for as soon as that has been said; and at last in any case."""
    bench.audio.there = {"output"}
    card = bench.card()
    stream = bench.audio.opened["output"]
    loud = np.full(BLOCK_SAMPLES, 1000, np.int16)
    for _ in range(round(6.0 / BLOCK_S)):
        bench.clock.move_to(bench.clock.now_s() + BLOCK_S)
        bench.play(BLOCK_SAMPLES)
        card.play(loud)
        card.keep_open()
    assert bench.audio.opened["output"] is stream

    bench.clock.move_to(bench.clock.now_s() + 1.0)
    card.keep_open()
    assert bench.audio.opened["output"] is not stream


@pytest.mark.parametrize(
    ("names", "there", "fault"),
    [
        ((None, "hall"), ["input", "output"], "no loudspeaker 'hall' (no output device); there"),
        (("nosuch", None), ["input", "output"], "no microphone 'nosuch' (no input device); there"),
        ((None, None), ["input"], "no loudspeaker (no output device); there is: none"),
    ],
)
def test_a_device_that_is_not_there_is_named_with_what_is(bench, names, there, fault):
    """What was asked for, and what could be."""
    bench.audio.there = set(there)
    card = SoundCard(bench.clock, *names)

    assert card.fault.startswith(fault)
    assert card.fault.endswith("there is: USB" if len(there) == 2 else "there is: none")


def test_without_any_device_both_are_named(bench):
    """The microphone is not opened for want of a loudspeaker, and is missing as well."""
    bench.audio.there = set()
    card = SoundCard(bench.clock, "nosuch", None)

    assert "no loudspeaker (no output device); there is: none; no microphone 'nosuch'" in card.fault
