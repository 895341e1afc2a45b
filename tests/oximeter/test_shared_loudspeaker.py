"""The call comes through a shared mixer, also while another process holds the loudspeaker.

A real mixer whose loudspeaker is a null sink; what would have been heard is listened to there.
"""

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.attention_tone import attention_tone
from assistant.audio.sound import RATE_HZ, Samples
from assistant.oximeter.messages import Calling, Message, WatcherLine
from tests.oximeter.sound_server import SoundServer
from tests.oximeter.test_process import ROOT, WATCH, Stage, comes_true

HUM_HZ = 2500
HOLD = f"""
import sys, time
import numpy, sounddevice
at = 0
def hum(block, frames, *_):
    global at
    at_s = (at + numpy.arange(frames)) / {RATE_HZ}
    block[:, 0] = 1500 * numpy.sin(2 * numpy.pi * {HUM_HZ} * at_s)
    at += frames
held = sounddevice.OutputStream(
    samplerate={RATE_HZ}, channels=1, dtype="int16", latency=0.2, callback=hum
)
held.start()
print("held", flush=True)
time.sleep(600)
"""


@pytest.fixture
def stage(tmp_path: Path) -> Iterator[Stage]:
    one = Stage(tmp_path)
    yield one
    one.end()


def loudness(
    heard: Samples, from_hz: float, to_hz: float
) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """In each 50 ms, how loud it is between two pitches."""
    pieces = heard[: len(heard) // 800 * 800].reshape(-1, 800).astype(float)
    spectrum = np.abs(np.fft.rfft(pieces * np.hanning(800), axis=1)) / 400
    hz = np.fft.rfftfreq(800, 1 / RATE_HZ)
    return np.asarray(spectrum[:, (hz >= from_hz) & (hz <= to_hz)].max(axis=1))


@pytest.mark.parametrize("blow", [None, signal.SIGSTOP, signal.SIGKILL])
def test_a_call_is_heard_beside_whoever_holds_the_loudspeaker(
    stage: Stage, sound_server: SoundServer, blow: signal.Signals | None, tmp_path: Path
) -> None:
    """While another plays, is stopped in the middle of it, or was killed, the tone is heard."""
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD],
        env=sound_server.environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    watch = subprocess.Popen(
        [sys.executable, "-c", WATCH, str(stage.case), stage.finger.port, stage.settings(), "0"],
        cwd=ROOT,
        env=sound_server.environment,
        stderr=subprocess.DEVNULL,
    )
    ear = sound_server.listen(tmp_path / "heard.raw")
    try:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        assert comes_true(stage.sees_saturation)
        assert comes_true(lambda: sound_server.streams() == 2)
        if blow is not None:
            holder.send_signal(blow)
        stage.finger.shows = 93
        assert comes_true(lambda: len(stage.rows()) == 1)
        time.sleep(2.0)
    finally:
        for one in (ear, watch, holder):
            one.kill()
            one.wait()

    heard = np.fromfile(tmp_path / "heard.raw", dtype=np.int16)
    tone = loudness(attention_tone(), 300, 700)
    called = loudness(heard, 300, 700) > tone.max() / 10
    assert stage.rows()[0].data["until_s"] > stage.rows()[0].data["started_s"]
    assert called.sum() == pytest.approx((tone > tone.max() / 10).sum(), abs=3)
    if blow is None:  # and both are heard at the same time
        assert (loudness(heard, HUM_HZ - 100, HUM_HZ + 100)[called] > 500).all()


def test_a_loudspeaker_that_goes_dead_is_noticed_and_comes_back(
    stage: Stage, sound_server: SoundServer, tmp_path: Path
) -> None:
    """With the sink asleep the conversation is asked to say the call; awake, all is well."""
    line = WatcherLine(stage.case)
    heard: list[Message] = []
    watch = subprocess.Popen(
        [sys.executable, "-c", WATCH, str(stage.case), stage.finger.port, stage.settings(), "0"],
        cwd=ROOT,
        env=sound_server.environment,
        stderr=subprocess.DEVNULL,
    )

    def unheard() -> list[str]:
        heard.extend(line.poll())
        return [one.text for one in heard if isinstance(one, Calling) and one.unheard]

    def faults() -> list[str]:
        rows = stage.rows("event")
        return [row.data["fault"] for row in rows if row.text.startswith("loudspeaker")]

    try:
        assert comes_true(stage.sees_saturation)
        assert comes_true(lambda: sound_server.streams() == 1)
        sound_server.sleep(asleep=True)
        time.sleep(1.5)
        stage.finger.shows = 93
        assert comes_true(lambda: unheard() == ["Saturation ninety-three."])
        assert comes_true(lambda: bool(faults()) and bool(faults()[-1]))

        sound_server.sleep(asleep=False)
        assert comes_true(lambda: faults()[-1] == "")
        time.sleep(6.0)  # until the old call is no news any more
        ear = sound_server.listen(tmp_path / "heard.raw")
        stage.finger.shows = 85
        assert comes_true(lambda: len(stage.rows()) == 2)
        time.sleep(1.5)
        ear.kill()
        ear.wait()
    finally:
        watch.kill()
        watch.wait()
        line.close()

    tone = loudness(attention_tone(), 300, 700)
    called = loudness(np.fromfile(tmp_path / "heard.raw", dtype=np.int16), 300, 700)
    assert (called > tone.max() / 10).sum() == pytest.approx((tone > tone.max() / 10).sum(), abs=3)
