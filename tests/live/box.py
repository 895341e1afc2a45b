"""The box on the trolley without hardware: a real mixer for the room, a pseudo-terminal for the
oximeter, and somebody who speaks."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from itertools import cycle
from pathlib import Path

import numpy as np
import soundfile

from assistant.audio.sound import RATE_HZ, Samples, silence
from assistant.journal.at_hand import case_at_hand
from assistant.journal.journal import read_case
from assistant.journal.rows import Row
from assistant.patient.finger import Pty, open_pty
from assistant.site.site import load_site
from assistant.speaking.voices import VoiceSettings, open_voice
from tests.oximeter.sound_server import SoundServer
from tests.waiting import wait_for

RAW = ("--format=s16le", f"--rate={RATE_HZ}", "--channels=1", "--raw")
OPENING = "Say: open a new case."
UNDERSTOOD_S = 12.0
"""From the end of what was said: a busy machine reads for seconds."""
SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


class Box:
    """Starts `spoken-brief listen` on a loop-back sound device, and talks to it."""

    def __init__(
        self,
        folder: Path,
        server: SoundServer,
        room: Iterable[Samples] | None = None,
        site: Path = SITE,
        microphone: SoundServer | None = None,
    ) -> None:
        """`room` is what is heard in the room without end; faint noise when None.

        With `microphone` a device of its own, which does not hear the loudspeaker.
        """
        self.cases = folder / "cases"
        self._folder = folder
        self._server = server
        self._heard_by = microphone or server
        self._environment = dict(server.environment)
        if microphone is not None:
            self._environment["ALSA_CONFIG_PATH"] = str(self._two_devices(folder / "asound.conf"))
        self._speaker = open_voice(VoiceSettings(engine="natural", name="joe"))
        self._site = load_site(site)
        self._assistant = open_voice(self._site.wording.voice)
        self._said = 0
        self.spo2_percent = 98
        self._port_path = folder / "oximeter"
        self._port: Pty | None = None
        self.plug_in_oximeter()
        self._stop = threading.Event()
        self._sounds = iter(cycle([room_noise(10.0)]) if room is None else room)
        self.make_noise()
        self._finger = threading.Thread(target=self._write_frames, daemon=True)
        self._finger.start()
        self.log = folder / "listen.log"
        self.process: subprocess.Popen[bytes] | None = None
        self.watcher: subprocess.Popen[bytes] | None = None

    def start(self, *words: str) -> None:
        """Start the listener, with a watcher if none follows these cases."""
        port = () if "--no-watcher" in words else ("--port", str(self._port_path))
        self.process = self._run("listen", "--cases", str(self.cases), *port, *words)

    def start_watcher(self) -> None:
        """Start the watcher as a process of its own, as its service does."""
        port = ("--port", str(self._port_path))
        self.watcher = self._run("watch", "--follow", str(self.cases), *port)

    def _run(self, *words: str) -> "subprocess.Popen[bytes]":
        with self.log.open("ab") as log:
            return subprocess.Popen(
                [sys.executable, "-m", "assistant", *words, "--site", str(self._site.folder)],
                env=self._environment,
                cwd=SITE.parents[1],
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
            )

    def _two_devices(self, path: Path) -> Path:
        """Microphone and loudspeaker on two servers: neither takes the other's place."""
        devices = (("!default", self._server), ("box_loudspeaker", self._server))
        devices += (("box_microphone", self._heard_by),)
        path.write_text(
            "</usr/share/alsa/alsa.conf>\n"
            + "".join(
                f'pcm.{name} {{ type pulse server "unix:{server.socket}" '
                f'hint {{ show on description "{name}" }} }}\n'
                for name, server in devices
            )
        )
        return path

    def kill(self) -> None:
        """kill -9: no chance to tidy up."""
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def kill_watcher(self) -> None:
        """The same to a watcher of its own."""
        assert self.watcher is not None
        self.watcher.kill()
        self.watcher.wait()

    def close(self) -> None:
        """Stop everything, a watcher that was left running too."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            self.process.wait(20)
        left_running = self.watcher_pid()
        if left_running is not None:
            os.kill(left_running, signal.SIGTERM)
        if self.watcher is not None:
            self.watcher.wait(20)
        self._stop.set()
        self._finger.join()
        self._room.kill()
        self._room.wait()
        self._noise.join()
        self.unplug_oximeter()

    def says(self, words: str, within_s: float = 30.0) -> None:
        """Wait until the listener has logged these words."""
        wait_for(lambda: words in self.log.read_text(), within_s, f"{words!r} in the log")

    def watcher_pid(self) -> int | None:
        """The process that watches for these cases, if there is one."""
        for proc in Path("/proc").glob("[0-9]*"):
            with suppress(OSError):
                words = (proc / "cmdline").read_bytes().decode().split("\0")
                if "watch" in words and str(self.cases) in words:
                    return int(proc.name)
        return None

    def rows(self) -> tuple[Row, ...]:
        """The record of the case at hand."""
        folder = case_at_hand(self.cases)
        return () if folder is None else read_case(folder)[1]

    def wait_said(self, words: str, times: int = 1, within_s: float = 30.0) -> None:
        """Wait until the assistant has said a line with these words to its end."""
        wait_for(
            lambda: sum(words in row.text for row in self.rows() if row.kind == "said") >= times,
            within_s,
            f"{words!r} said {times} times",
        )
        said = [row.text for row in self.rows() if row.kind == "said" and words in row.text]
        self.wait_spoken(said[-1])

    def wait_spoken(self, text: str) -> None:
        """Wait for as long as the assistant needs to say this, and a breath."""
        time.sleep(len(self._assistant.render(text)) / RATE_HZ + 0.8)

    def say(self, words: str, *, wait: bool = True) -> None:
        """Speak into the room, and wait until it has been said."""
        # paplay loses the first 50 ms.
        sound = np.concatenate([silence(0.2), self._speaker.render(words), silence(0.1)])
        self._said += 1
        path = self._folder / f"speech-{self._said}.wav"
        soundfile.write(path, sound, RATE_HZ)
        speaker = subprocess.Popen(
            ["paplay", "--device=room", str(path)],  # noqa: S607
            env=self._heard_by.environment,
        )
        if wait:
            assert speaker.wait() == 0

    def wait_ready(self, within_s: float = 60.0) -> None:
        """Wait until it has tested itself, and has asked for the words that open a case."""
        self.says(OPENING, within_s)
        asked = (line for line in self.log.read_text().splitlines() if line.endswith(OPENING))
        self.wait_spoken(next(asked))

    def open_a_case(self) -> None:
        """Ask for one, until there is one."""
        self._repeat("open a new case", lambda: case_at_hand(self.cases) is not None)

    def tell(self, words: str) -> None:
        """Speak, and again when it was not understood, as people do who are asked again."""
        before = len(self.rows())
        self._repeat(words, lambda: self._took(before))

    def _repeat(self, words: str, understood: Callable[[], bool]) -> None:
        for _ in range(3):
            self.say(words)
            with suppress(AssertionError):
                wait_for(understood, UNDERSTOOD_S, f"{words!r} understood")
                return
        raise AssertionError(f"{words!r} not understood: {self.rows()[-5:]}")

    def _took(self, before: int) -> bool:
        """Whether something said since that row was accepted; with the last, the case is gone."""
        rows = self.rows()
        taken = (row for row in rows[before:] if row.kind == "heard")
        return not rows or any(row.data["verdict"] == "accept" for row in taken)

    def plug_in_oximeter(self) -> None:
        """A port of a new name, under the one that stays."""
        port = open_pty()
        self._port_path.symlink_to(port.slave_path)
        self._port = port

    def unplug_oximeter(self) -> None:
        """The port goes, and its name."""
        port, self._port = self._port, None
        if port is not None:
            self._port_path.unlink()
            os.close(port.master_fd)

    def make_noise(self) -> None:
        """From now on the room is heard; again, when its device was unplugged."""
        self._room = subprocess.Popen(
            # A room is never quite silent; a line that is tells of a dead microphone.
            ["pacat", "--playback", "--device=room", "--latency-msec=500", *RAW],  # noqa: S607
            env=self._heard_by.environment,
            stdin=subprocess.PIPE,
        )
        self._noise = threading.Thread(target=self._make_noise, daemon=True)
        self._noise.start()

    def _make_noise(self) -> None:
        assert self._room.stdin is not None
        with suppress(OSError):
            for sound in self._sounds:
                self._room.stdin.write(sound.tobytes())
                if self._stop.is_set():
                    return

    def _write_frames(self) -> None:
        layout = self._site.oximeter.frame_layout
        number = 0
        while not self._stop.wait(1 / layout.frames_per_s):
            number += 1
            wave = round(60 + 50 * np.sin(number / 8))
            frame = layout.encode(self.spo2_percent, 88 + number // 120 % 3, wave)
            try:
                os.write(self._port.master_fd, frame)
            except (OSError, AttributeError):  # nobody reads, or it is unplugged
                continue


def room_noise(seconds: float, level: float = 30.0) -> Samples:
    """Noise of that root mean square, of 32768: 30 is about -60 dBFS."""
    return np.random.default_rng(7).normal(0, level, round(seconds * RATE_HZ)).astype(np.int16)
