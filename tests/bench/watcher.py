"""How soon a call is heard, whatever becomes of the conversation.

`python -m tests.bench.watcher`

A real watcher process on a pseudo-terminal, a real conversation process with the same loudspeaker,
a real mixer (PulseAudio) whose loudspeaker is a null sink. Each time runs from the writing of the
frame that makes the call to its first sound at the sink, above -40 dB of full scale; so it has in
it the look at the port, the decision, the mixer, the tone's own soft beginning, and the way of the
listening program. It prints, and asserts nothing.
"""

import argparse
import os
import platform
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

import numpy as np

from assistant.files.yaml_files import read_yaml
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME
from assistant.oximeter.settings import OximeterSettings
from assistant.patient.finger import open_pty
from tests.oximeter.sound_server import SoundServer

ROOT = Path(__file__).parents[2]
SITE = ROOT / "configs" / "tarn-hollow"
TARGET_MEDIAN_MS, TARGET_WORST_MS = 300, 500
HEARD = 327
"""Of 32767: -40 dB."""
PIECE_BYTES = 2 * 80
"""5 ms."""
GIVEN_UP_S = 5.0

WATCH = """
import os, sys
from pathlib import Path
from assistant.clock import MonotonicClock
from assistant.oximeter.process import run_watcher
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME
from assistant.oximeter.settings import OximeterSettings
from assistant.oximeter.sources import open_feed
from assistant.audio.sound import silence
settings = OximeterSettings.model_validate_json(sys.argv[3])
run_watcher(
    lambda: Path(sys.argv[1]),
    settings,
    lambda text: silence(0.1),
    open_feed(settings, MonotonicClock(), port=sys.argv[2]),
    ends_with_parent_pid=os.getppid(),
)
"""
CONVERSATION = """
import sys, time
from pathlib import Path
import numpy, sounddevice
from assistant.clock import MonotonicClock
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts
from assistant.hearing.ear import Ear
from assistant.hearing.engines import make_engine
from assistant.journal.journal import Journal
from assistant.oximeter.messages import WatcherLine
from assistant.site.site import load_site
from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, silence
from assistant.speaking.voices import open_voice
from assistant.conversation.watchkeeper import Watchkeeper
case, site, models, pace = sys.argv[1:]
clock, site = MonotonicClock(), load_site(Path(site))
voice = open_voice(site.wording.voice)
engine = make_engine("closed", Path(models))
journal = Journal(Path(case), clock, site.brief.name)
conversation = Conversation(site, Parts(clock, Ear(engine), voice, journal))
keeper, line = Watchkeeper(conversation, clock), WatcherLine(Path(case))
# It holds the loudspeaker, and is silent on it: what the sink hears is the watcher's alone.
held = sounddevice.OutputStream(
    samplerate=16000, channels=1, dtype="int16", callback=lambda block, *_: block.fill(0)
)
held.start()
room = numpy.concatenate([voice.render("what is the dose of rocuronium"), silence(0.8)])
room = room[: len(room) // BLOCK_SAMPLES * BLOCK_SAMPLES].reshape(-1, BLOCK_SAMPLES)
began_s, number = clock.now_s(), 0
print("ready", flush=True)
while True:
    for message in line.poll():
        keeper.take(message)
    keeper.pass_time()
    at_s = began_s + number * BLOCK_S
    conversation.step(room[number % len(room)] if pace == "busy" else silence(BLOCK_S), at_s)
    number += 1
    if pace != "busy":
        time.sleep(max(0.0, at_s - clock.now_s()))
"""


class Timing(NamedTuple):
    """The crossings of one condition."""

    ms: list[float]
    unheard: int
    said: int
    """Calls in the watcher's own record."""
    faults: int
    """Faults of the loudspeaker in it."""


class Ear(threading.Thread):
    """Listens at the sink, and knows when it last became loud."""

    def __init__(self, server: SoundServer) -> None:
        super().__init__(daemon=True)
        self._process = server.listen()
        self.loud_s = self.quiet_since_s = time.monotonic()
        self._is_loud = False
        self.start()

    def run(self) -> None:
        assert self._process.stdout is not None
        while piece := self._process.stdout.read(PIECE_BYTES):
            now_s = time.monotonic()
            if np.abs(np.frombuffer(piece, dtype=np.int16).astype(int)).max() > HEARD:
                if not self._is_loud:
                    self._is_loud, self.loud_s = True, now_s
                self.quiet_since_s = now_s
            elif now_s - self.quiet_since_s > 0.15:
                self._is_loud = False

    def close(self) -> None:
        self._process.kill()
        self._process.wait()


def crossings(case: Path, server: SoundServer, number: int) -> Timing:
    """So many crossings with whatever conversation there is."""
    settings = read_yaml(SITE / "oximeter.yaml", OximeterSettings)
    # The first sample at the level makes the call, so that it is known which one did.
    crossing = settings.crossing.model_copy(update={"held_s": 0.0, "rearm_s": 0.0})
    settings = settings.model_copy(update={"crossing": crossing})
    layout, chance = settings.frame_layout, random.Random(7)
    master, port = open_pty()
    watcher = subprocess.Popen(
        [sys.executable, "-c", WATCH, str(case), port, settings.model_dump_json()],
        cwd=ROOT,
        env=server.environment,
        stderr=subprocess.DEVNULL,
    )
    ear = Ear(server)
    ms: list[float] = []
    frames, unheard = 0, 0

    def show(spo2: int, seconds: float) -> None:
        nonlocal frames
        until_s = time.monotonic() + seconds
        while time.monotonic() < until_s:
            frames += 1
            os.write(master, layout.encode(spo2, 80 + frames // 60 % 3, frames % 100))
            time.sleep(1 / layout.frames_per_s)

    show(96, 6.0)  # the watcher starts
    for _ in range(number):
        show(96, 0.5 + chance.random() / 10)
        written_s = time.monotonic()
        while ear.loud_s < written_s and time.monotonic() - written_s < GIVEN_UP_S:
            show(93, 1 / layout.frames_per_s)
        if ear.loud_s < written_s:
            unheard += 1
            continue
        ms.append(1000 * (ear.loud_s - written_s))
        while time.monotonic() - ear.quiet_since_s < 0.3:
            show(93, 0.05)
    watcher.terminate()
    watcher.wait()
    ear.close()
    os.close(master)
    rows = read_record(case / RECORD_NAME).rows
    faults = sum(bool(row.data.get("fault")) for row in rows if "loudspeaker" in row.text)
    return Timing(ms, unheard, sum(row.kind == "said" for row in rows), faults)


def measure(condition: str, number: int, server: SoundServer, models: Path) -> Timing:
    """The crossings with the conversation in one condition."""
    with tempfile.TemporaryDirectory() as folder:
        words = [folder, str(SITE), str(models), condition]
        conversation = subprocess.Popen(
            [sys.executable, "-c", CONVERSATION, *words],
            cwd=ROOT,
            env=server.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            preexec_fn=_ordinary,  # noqa: PLW1509 - no other thread runs yet
        )
        try:
            assert conversation.stdout is not None
            assert conversation.stdout.readline() == b"ready\n", "the conversation did not start"
            if condition in ("stopped", "killed"):
                conversation.send_signal(
                    signal.SIGSTOP if condition == "stopped" else signal.SIGKILL
                )
            return crossings(Path(folder), server, number)
        finally:
            conversation.kill()
            conversation.wait()


def _ordinary() -> None:
    """Undo our own priority for the conversation."""
    os.setpriority(os.PRIO_PROCESS, 0, 0)


def main() -> None:
    """Print a line for each condition of the conversation."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--crossings", type=int, default=50, help="for each condition")
    parser.add_argument("--models", type=Path, default=ROOT / "models")
    parser.add_argument("conditions", nargs="*", default=["idle", "busy", "stopped", "killed"])
    arguments = parser.parse_args()
    print(f"{platform.machine()}, {os.cpu_count()} processors, Python {platform.python_version()}")
    print(
        f"{'conversation':14}{'crossings':>10}{'median':>9}{'worst':>9}{'unheard':>9}{'said':>6}"
        f"{'faults':>8}   load"
    )
    with suppress(OSError):
        os.nice(-10)  # the device and the ear do not compete with what is measured
    with tempfile.TemporaryDirectory(prefix="sound-") as folder:
        server = SoundServer(Path(folder))
        try:
            for condition in arguments.conditions:
                ms, unheard, said, faults = measure(
                    condition, arguments.crossings, server, arguments.models
                )
                print(
                    f"{condition:14}{len(ms) + unheard:10}{statistics.median(ms):7.0f}ms"
                    f"{max(ms):7.0f}ms{unheard:9}{said:6}{faults:8}   {os.getloadavg()[0]:.1f}",
                    flush=True,
                )
        finally:
            server.close()
    print(f"target: median {TARGET_MEDIAN_MS} ms, worst {TARGET_WORST_MS} ms")


if __name__ == "__main__":
    main()
