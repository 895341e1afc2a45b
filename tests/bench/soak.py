"""Hours of a room: does a case begin by itself, is anything confirmed, does memory grow?

    python -m tests.bench.soak [--minutes 60] [--idle-minutes 10] [--case-minutes 10]

`listen` runs in real time on a loop-back sound device (it needs PulseAudio), by turns between cases
and within one, in a room with noise, talk that is not for it, babble of five voices, a monitor's
pulse tone and alarm. A few things are said to it: to open the case, to have the question asked
again each minute, and to end the case. Whatever else it accepts is listed. Memory (PSS), open files
and threads of both processes are read every 30 s. It ends with 1 when a case began by itself,
when anything was confirmed that nobody confirmed, or when a process was started anew.
"""

import argparse
import random
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples, silence
from assistant.fitting.corpus import NOT_FOR_ME, sentences
from assistant.journal.at_hand import case_at_hand
from assistant.journal.journal import read_case
from assistant.journal.rows import Row
from assistant.site.site import load_site
from assistant.speaking.voices import VoiceSettings, open_voice
from tests.live.box import Box, room_noise
from tests.live.monitor_sounds import desaturation, high_priority_alarm
from tests.oximeter.sound_server import SoundServer
from tests.waiting import wait_for

VOICES = (
    VoiceSettings(engine="natural", name="joe"),
    VoiceSettings(engine="natural", name="joe", words_per_minute=195),
    VoiceSettings(name="en-us", words_per_minute=150),
    VoiceSettings(name="en-gb-scotland", words_per_minute=170, pitch=40),
    VoiceSettings(name="en-gb-x-rp", words_per_minute=160, pitch=65),
)
SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
SCENES = ("noise", "talk", "babble", "talk over babble", "monitor", "talk over monitor")
SCENE_S = 40.0
READ_EVERY_S = 30.0
SAY_AGAIN_EVERY_S = 60.0
SLACK_S = 1.5
"""An utterance is found in the record this much beside the moment at which it was said."""


class Room:
    """The room's sound, a second at a time; `quiet` while somebody speaks to the assistant."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)
        self._voices = [open_voice(one) for one in VOICES]
        said = sentences(load_site(SITE), held_out=True)
        self._talk = [one.text for one in said if one.kind in NOT_FOR_ME]
        self.quiet = threading.Event()
        self.scenes: dict[str, int] = dict.fromkeys(SCENES, 0)

    def __iter__(self) -> Iterator[Samples]:
        noise = room_noise(60.0, level=60.0)
        second = 0
        streams = [self._speech(number) for number in range(len(self._voices))]
        monitor = np.concatenate([desaturation(SCENE_S), high_priority_alarm(SCENE_S)])
        while True:
            scene = SCENES[int(second // SCENE_S) % len(SCENES)]
            begin = second % 60 * RATE_HZ
            sound = noise[begin : begin + RATE_HZ].astype(np.int32)
            if not self.quiet.is_set():
                self.scenes[scene] += 1
                if "talk" in scene:
                    sound += next(streams[second // 7 % len(streams)])
                if "babble" in scene:
                    sound += sum(next(one) // 3 for one in streams)
                if "monitor" in scene:
                    begin = second % int(2 * SCENE_S) * RATE_HZ
                    sound += monitor[begin : begin + RATE_HZ]
            yield np.clip(sound, -32768, 32767).astype(np.int16)
            second += 1

    def _speech(self, number: int) -> Iterator[np.ndarray]:
        """One voice that talks without end, a second at a time."""
        rest = silence(0)
        while True:
            while len(rest) < RATE_HZ:
                said = self._voices[number].render(self._random.choice(self._talk))
                rest = np.concatenate([rest, said, silence(self._random.uniform(0.3, 2.5))])
            yield rest[:RATE_HZ].astype(np.int32)
            rest = rest[RATE_HZ:]


@dataclass
class Reading:
    """One look at a process."""

    pss_mb: float
    files: int
    threads: int


def read_process(pid: int) -> Reading:
    """What the kernel says of it."""
    proc = Path(f"/proc/{pid}")
    rollup = (proc / "smaps_rollup").read_text()
    pss_kb = next(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Pss:"))
    files = len(list((proc / "fd").iterdir()))
    return Reading(pss_kb / 1024, files, len(list((proc / "task").iterdir())))


class Soak:
    """Runs it, and keeps the figures."""

    def __init__(self, box: Box, room: Room) -> None:
        self.box, self.room = box, room
        self.began_s = time.monotonic()
        self.said_to_it: list[tuple[str, float, float]] = []
        self.readings: list[tuple[float, str, dict[str, Reading]]] = []
        self.false_starts = 0
        self.cases: list[Path] = []
        self.pids = (box.process.pid, box.watcher_pid())

    def idle(self, for_s: float) -> None:
        """Between cases: none may begin."""
        until_s = time.monotonic() + for_s
        while time.monotonic() < until_s:
            self._look("idle")
            if case_at_hand(self.box.cases) is not None:
                self.false_starts += 1
                print("A CASE BEGAN BY ITSELF", case_at_hand(self.box.cases), flush=True)
                return
            time.sleep(1)

    def case(self, for_s: float) -> None:
        """A case whose first item stays open."""
        if case_at_hand(self.box.cases) is None:
            self._say_until(
                "open a new case", lambda: case_at_hand(self.box.cases) is not None, settle_s=6
            )
        folder = case_at_hand(self.box.cases)
        self.cases.append(folder)
        self._say_until("begin the brief", lambda: self._has("start"), settle_s=5)
        until_s = time.monotonic() + for_s
        again_s = time.monotonic() + SAY_AGAIN_EVERY_S
        while time.monotonic() < until_s and case_at_hand(self.box.cases) == folder:
            self._look("case")
            if time.monotonic() >= again_s:
                again_s += SAY_AGAIN_EVERY_S
                self._say("say that again")
            time.sleep(1)
        if case_at_hand(self.box.cases) == folder:
            self._say_until("end the case", lambda: self._has("end_case"), settle_s=3)
            self._say_until(
                "yes confirmed", lambda: case_at_hand(self.box.cases) is None, settle_s=5
            )

    def accepted(self) -> tuple[list[Row], int]:
        """What was accepted though nobody said it to the assistant, and how much was ignored."""
        astray: list[Row] = []
        ignored = 0
        for folder in self.cases:
            for row in read_case(folder)[1]:
                ignored += row.kind == "ignored"
                if row.kind == "heard" and not self._was_said(row):
                    astray.append(row)
        return astray, ignored

    def _was_said(self, row: Row) -> bool:
        return any(
            began_s - SLACK_S <= row.mono_s <= ended_s + SLACK_S
            for _, began_s, ended_s in self.said_to_it
        )

    def _say(self, words: str) -> None:
        self.room.quiet.set()
        time.sleep(4)  # what the room said last has been read
        began_s = time.monotonic()
        self.box.say(words)
        self.said_to_it.append((words, began_s, time.monotonic()))
        time.sleep(2)
        self.room.quiet.clear()

    def _say_until(self, words: str, comes_true, settle_s: float) -> None:
        for _ in range(10):
            self._say(words)
            try:
                wait_for(comes_true, 5, words)
            except AssertionError:
                continue
            self.room.quiet.set()
            time.sleep(settle_s)
            self.room.quiet.clear()
            return
        raise AssertionError(f"ten times without effect: {words}")

    def _has(self, meaning: str) -> bool:
        return any(row.kind == "heard" and row.meaning == meaning for row in self.box.rows())

    def _look(self, where: str) -> None:
        at_s = time.monotonic() - self.began_s
        if self.readings and at_s - self.readings[-1][0] < READ_EVERY_S:
            return
        names = ("listen", "watch")
        now = {name: read_process(pid) for name, pid in zip(names, self.pids, strict=True)}
        self.readings.append((at_s, where, now))
        figures = "  ".join(
            f"{name} {one.pss_mb:6.1f} MB {one.files:3} files {one.threads:3} threads"
            for name, one in now.items()
        )
        print(f"{at_s / 60:6.1f} min  {where:5} {figures}", flush=True)

    def report(self) -> bool:
        """Print it; whether all is well."""
        astray, ignored = self.accepted()
        sure = [row for row in astray if row.data["verdict"] == "accept"]
        confirmed = [row for row in sure if row.meaning == "confirm"]
        restarts = sum(pid != now for pid, now in zip(self.pids, self._pids_now(), strict=True))
        print(f"\n{(time.monotonic() - self.began_s) / 60:.0f} min; {len(self.cases)} cases")
        print(f"seconds of each scene: {self.room.scenes}")
        print(f"false starts of a case: {self.false_starts}")
        print(f"false confirmations: {len(confirmed)}")
        print(f"accepted, and not said to it: {len(sure)}; asked back: {len(astray) - len(sure)}")
        for row in astray:
            print(f"  {row.data['verdict']:6} {row.meaning:16} {row.text}")
        print(f"ignored in the cases: {ignored}; processes that were started anew: {restarts}")
        for name in ("listen", "watch"):
            settled = [now[name] for at_s, _, now in self.readings if at_s > 120]
            if settled:
                quarter = max(1, len(settled) // 4)
                first, last = settled[:quarter], settled[-quarter:]
                print(
                    f"{name}: PSS first quarter {_mean(one.pss_mb for one in first):.1f} MB, "
                    f"last {_mean(one.pss_mb for one in last):.1f} MB, "
                    f"most {max(one.pss_mb for one in settled):.1f} MB; files "
                    f"{min(one.files for one in settled)} to {max(one.files for one in settled)}; "
                    f"threads {min(one.threads for one in settled)} "
                    f"to {max(one.threads for one in settled)}"
                )
        return not (self.false_starts or confirmed or restarts)

    def _pids_now(self) -> tuple[int | None, int | None]:
        alive = self.box.process.poll() is None
        return (self.box.process.pid if alive else None, self.box.watcher_pid())


def _mean(values) -> float:
    return float(np.mean(list(values)))


def main() -> None:
    """Run, and print a line each half minute."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--minutes", type=float, default=60)
    parser.add_argument("--idle-minutes", type=float, default=10)
    parser.add_argument("--case-minutes", type=float, default=10)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        room = Room(options.seed)
        room.quiet.set()
        box = Box(Path(folder), server, room=room)
        try:
            box.start()
            box.says("open a new case", within_s=120)
            time.sleep(8)
            room.quiet.clear()
            soak = Soak(box, room)
            until_s = time.monotonic() + options.minutes * 60
            while time.monotonic() < until_s:
                soak.idle(min(options.idle_minutes * 60, until_s - time.monotonic()))
                if time.monotonic() < until_s:
                    soak.case(min(options.case_minutes * 60, until_s - time.monotonic()))
            well = soak.report()
            log = (Path(folder) / "listen.log").read_text().splitlines()
            underruns = sum("underrun" in line for line in log)
            print(f"its own log; {underruns} underruns of the loudspeaker left out:")
            print("\n".join(line for line in log if "underrun" not in line))
        finally:
            box.close()
            server.close()
    sys.exit(0 if well else 1)


if __name__ == "__main__":
    main()
