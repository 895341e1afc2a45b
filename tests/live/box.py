"""The box on the trolley without hardware: a real mixer for the room, a pseudo-terminal for the
oximeter, and somebody who speaks."""

import os
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path

import numpy as np
import soundfile

from assistant.journal.at_hand import case_at_hand
from assistant.journal.journal import read_case
from assistant.journal.rows import Row
from assistant.patient.finger import open_pty
from assistant.site.site import load_site
from assistant.sound import RATE_HZ, silence
from assistant.speaking.voices import VoiceSettings, open_voice
from tests.oximeter.sound_server import SoundServer

RAW = ("--format=s16le", f"--rate={RATE_HZ}", "--channels=1", "--raw")
SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


class Box:
    """Starts `spoken-brief listen` on a loop-back sound device, and talks to it."""

    def __init__(self, folder: Path, server: SoundServer) -> None:
        self.cases = folder / "cases"
        self._folder = folder
        self._server = server
        self._speaker = open_voice(VoiceSettings(engine="natural", name="joe"))
        self._site = load_site(SITE)
        self._assistant = open_voice(self._site.wording.voice)
        self.spo2_percent = 98
        self._port = open_pty()
        self._room = subprocess.Popen(
            # A room is never quite silent; a line that is tells of a dead microphone.
            ["pacat", "--playback", "--device=room", *RAW],  # noqa: S607
            env=server.environment,
            stdin=subprocess.PIPE,
        )
        self._stop = threading.Event()
        self._noise = threading.Thread(target=self._make_noise, daemon=True)
        self._noise.start()
        self._finger = threading.Thread(target=self._write_frames, daemon=True)
        self._finger.start()
        self.log = folder / "listen.log"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start the listener, with a watcher if none follows these cases."""
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [
                    *(sys.executable, "-m", "assistant", "listen", "--site", str(SITE)),
                    *("--cases", str(self.cases), "--port", self._port.slave_path),
                ],
                env=self._server.environment,
                cwd=SITE.parents[1],
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
            )

    def kill(self) -> None:
        """kill -9: no chance to tidy up."""
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def close(self) -> None:
        """Stop everything, a watcher that was left running too."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            self.process.wait(20)
        pattern = f"watch --follow {self.cases}"
        subprocess.run(["pkill", "-f", pattern], check=False)  # noqa: S607
        self._stop.set()
        self._finger.join()
        self._room.kill()
        self._room.wait()
        self._noise.join()
        os.close(self._port.master_fd)

    def says(self, words: str, within_s: float = 30.0) -> None:
        """Wait until the listener has logged these words."""
        wait_for(lambda: words in self.log.read_text(), within_s, f"{words!r} in the log")

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

    def say(self, words: str) -> None:
        """Speak into the room."""
        # paplay loses the first 50 ms.
        sound = np.concatenate([silence(0.2), self._speaker.render(words), silence(0.1)])
        path = self._folder / "speech.wav"
        soundfile.write(path, sound, RATE_HZ)
        subprocess.run(
            ["paplay", "--device=room", str(path)],  # noqa: S607
            env=self._server.environment,
            check=True,
        )

    def _make_noise(self) -> None:
        """Noise at about -60 dBFS, for as long as somebody takes it."""
        noise = np.random.default_rng(7).normal(0, 30, 10 * RATE_HZ).astype(np.int16).tobytes()
        assert self._room.stdin is not None
        with suppress(OSError):
            while not self._stop.is_set():
                self._room.stdin.write(noise)

    def _write_frames(self) -> None:
        layout = self._site.oximeter.frame_layout
        number = 0
        while not self._stop.wait(1 / layout.frames_per_s):
            number += 1
            wave = round(60 + 50 * np.sin(number / 8))
            frame = layout.encode(self.spo2_percent, 88 + number // 120 % 3, wave)
            try:
                os.write(self._port.master_fd, frame)
            except BlockingIOError:  # nobody reads
                continue


def wait_for(comes_true, within_s: float, what: str) -> None:
    """Wait for something, or fail saying what did not come."""
    until_s = time.monotonic() + within_s
    while not comes_true():
        assert time.monotonic() < until_s, f"did not come within {within_s} s: {what}"
        time.sleep(0.05)
