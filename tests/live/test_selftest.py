"""The self-test finds what is wrong, and nothing where nothing is."""

import numpy as np
import pytest

from assistant.audio.levels import is_dead
from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ, silence
from assistant.clock import WallReading
from assistant.live import selftest
from assistant.live.selftest import Fault, SelfTest, echo_delay_s, sweep
from assistant.oximeter.messages import Watching


@pytest.fixture(autouse=True)
def _set_clock(monkeypatch):
    """A wall clock that is synchronised."""
    reading = WallReading("2026-03-01T10:00:00.000Z", trusted=True)
    monkeypatch.setattr(selftest, "read_wall", lambda: reading)


def room(seconds, seed=1, level=300):
    """A quiet room: noise at about -40 dBFS."""
    noise = np.random.default_rng(seed).normal(0, level, round(seconds * RATE_HZ))
    return noise.astype(np.int16)


def with_sweep(noise, *, gain_db, delay_s):
    """The sweep as the microphone hears it, softer and late."""
    heard = noise.astype(np.float64)
    start = round(delay_s * RATE_HZ)
    played = sweep() * 10 ** (gain_db / 20)
    heard[start : start + len(played)] += played
    return heard.astype(np.int16)


@pytest.mark.parametrize("delay_s", [0.02, 0.2, 0.6])
@pytest.mark.parametrize("gain_db", [0, -15, -25])
def test_a_loudspeaker_is_heard_late_and_soft(delay_s, gain_db):
    """The sweep is found at any delay, down to the level of the noise, and its delay is told."""
    heard = with_sweep(room(1.3), gain_db=gain_db, delay_s=delay_s)

    assert echo_delay_s(heard) == pytest.approx(delay_s, abs=0.001)


@pytest.mark.parametrize("seed", range(20))
def test_noise_is_not_taken_for_the_loudspeaker(seed):
    """A loudspeaker that is unplugged is not heard in the room's noise."""
    assert echo_delay_s(room(1.3, seed)) is None


def test_a_dead_channel_is_told_from_a_quiet_room():
    """Zeros throughout, or one constant value, is no room; one bit of noise is."""
    assert is_dead(silence(1.0))
    assert is_dead(np.full(16_000, -3, dtype=np.int16))
    assert not is_dead(room(1.0, level=1))


def run_to_the_end(tmp_path, microphone, *, watched, echo_cancelled=False):
    """A self-test run to its end; `microphone` gives what is heard of each block played."""
    test = SelfTest(tmp_path, echo_cancelled=echo_cancelled)
    played = silence(BLOCK_S)
    while not test.done:
        if watched:
            test.take(Watching(97, 0.0))
        played = test.step(microphone(played))
    return test


def test_all_well(tmp_path):
    """With everything in order nothing is said to be wrong, and the echo's delay is known."""
    noise = np.random.default_rng(3)
    line = [silence(BLOCK_S)] * 5

    def late_and_soft(played):
        line.append(played)
        return (line.pop(0) // 4 + noise.normal(0, 100, BLOCK_SAMPLES)).astype(np.int16)

    test = run_to_the_end(tmp_path, late_and_soft, watched=True)

    assert list(test.faults()) == []
    assert test.echo_s == pytest.approx(6 * BLOCK_S, abs=0.001)


def test_sound_that_comes_up_late_is_waited_for(tmp_path):
    """A device that is silent for its first three seconds is no fault."""
    blocks = iter(range(10_000))

    def at_last(played):
        return played if next(blocks) * BLOCK_S > 3.0 else silence(BLOCK_S)

    assert list(run_to_the_end(tmp_path, at_last, watched=True).faults()) == []


def test_a_loudspeaker_that_is_not_heard_is_named(tmp_path):
    """The microphone hears the room, and nothing of what is played."""
    noise = np.random.default_rng(3)

    def room_only(_):
        return noise.normal(0, 100, BLOCK_SAMPLES).astype(np.int16)

    found = list(run_to_the_end(tmp_path, room_only, watched=True).faults())

    assert found == [Fault.LOUDSPEAKER_UNHEARD]


def test_a_microphone_that_is_turned_up_too_far_is_named(tmp_path):
    """Its own sweep comes back at full scale."""

    def too_loud(played):
        return np.clip(played.astype(np.int32) * 20, -32768, 32767).astype(np.int16)

    found = list(run_to_the_end(tmp_path, too_loud, watched=True).faults())

    assert found == [Fault.MICROPHONE_CLIPPED]


def test_a_call_that_cannot_be_spoken_is_named(tmp_path):
    """The watcher tells of it with every beat."""
    test = SelfTest(tmp_path)
    test.take(Watching(97, 0.0, missing_calls=1))

    assert Fault.CALL_MISSING in list(test.faults())


def test_everything_wrong_is_named(tmp_path, monkeypatch):
    """Each fault has its own name, and a dead microphone is not blamed on the loudspeaker."""
    reading = WallReading("1970-01-01T00:00:00.000Z", trusted=False)
    monkeypatch.setattr(selftest, "read_wall", lambda: reading)
    monkeypatch.setattr(selftest, "LEAST_FREE_BYTES", 10**18)

    found = list(run_to_the_end(tmp_path, lambda _: silence(BLOCK_S), watched=False).faults())

    assert found == [
        Fault.MICROPHONE_SILENT,
        Fault.OXIMETER_SILENT,
        Fault.DISK_FULL,
        Fault.CLOCK_UNSET,
    ]


def test_the_sweep_is_no_monitor_alarm():
    """It is a single pulse that glides, not a burst of pulses (IEC 60601-1-8, table 3)."""
    played = np.abs(sweep().astype(float))
    loud = np.convolve(played, np.ones(400) / 400, mode="same") > 500

    assert np.count_nonzero(np.diff(loud.astype(int)) == 1) == 1


def fading_echo(gains):
    """A room whose microphone hears the loudspeaker ever softer, as a canceller learns it."""
    noise = np.random.default_rng(4)
    left = list(gains)

    def heard(played):
        gain = left.pop(0) if len(left) > 1 else left[0]
        return (played * gain + noise.normal(0, 100, BLOCK_SAMPLES)).astype(np.int16)

    return heard


def test_a_canceller_that_has_learnt_its_room_lets_people_interrupt(tmp_path):
    """Its first sweeps may still be heard; the last must not be."""
    learnt = [0.25] * round(2.0 / BLOCK_S) + [0.0]
    test = run_to_the_end(tmp_path, fading_echo(learnt), watched=True, echo_cancelled=True)

    assert test.may_interrupt
    assert list(test.faults()) == []


def test_a_canceller_that_does_not_cancel_is_told_of(tmp_path):
    """The assistant hears itself to the end: nobody may interrupt it."""
    test = run_to_the_end(tmp_path, fading_echo([0.25]), watched=True, echo_cancelled=True)

    assert not test.may_interrupt
    assert list(test.faults()) == [Fault.HEARS_ITSELF]


def test_without_a_canceller_nobody_interrupts(tmp_path):
    """Even where the loudspeaker is not heard at all: it may be unplugged for now."""
    test = run_to_the_end(tmp_path, fading_echo([0.0]), watched=True)

    assert not test.may_interrupt
    assert list(test.faults()) == [Fault.LOUDSPEAKER_UNHEARD]
