"""espeak-ng through pyttsx3, in a child process.

pyttsx3 keeps one engine per process, may hang in its loop and must stay in one thread; in a child
of its own a hang costs one phrase and a restart, never the conversation. Each voice has its own
child.
"""

import json
import os
import shutil
import subprocess
import sys
from contextlib import suppress
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Timer

from assistant.audio.sound import RATE_HZ, Samples, read_wav, silence
from assistant.errors import BadInput

DEADLINE_S = 6.0
"""Two such waits are less than the fifteen seconds after which a watchdog takes it for stuck."""
MOST_RENDERINGS = 8
SAME_WITHIN_SAMPLES = RATE_HZ // 50


@cache
def espeak_voices() -> frozenset[str] | None:
    """The names under which espeak-ng knows its voices, in lower case; None when it cannot say."""
    espeak = shutil.which("espeak-ng")
    if espeak is None:
        return None
    try:
        told = subprocess.run(
            [espeak, "--voices"], capture_output=True, text=True, timeout=DEADLINE_S, check=True
        ).stdout
    except (subprocess.SubprocessError, OSError):
        return None
    # Pty Language Age/Gender VoiceName File Other
    rows = [line.lower().split() for line in told.splitlines()[1:]]
    files = [row[4] for row in rows if len(row) > 4]
    return frozenset((*files, *(Path(file).name for file in files)))


class Espeak:
    """One espeak-ng voice."""

    def __init__(self, name: str, words_per_minute: int, pitch: int) -> None:
        self._worker = _worker(name, words_per_minute, pitch)

    def render(self, text: str) -> Samples:
        """Speak into a file and read it back, until two renderings agree.

        A rendering that is cut short or empty would be a question that goes missing.
        Raises BadInput when espeak-ng is missing or does not know the voice.
        """
        renderings: list[Samples] = []
        for _ in range(MOST_RENDERINGS):
            samples = self._once(text)
            if any(abs(len(one) - len(samples)) <= SAME_WITHIN_SAMPLES for one in renderings):
                return samples
            if len(samples):
                renderings.append(samples)
        raise BadInput(f"espeak-ng did not speak {text!r} twice alike in {MOST_RENDERINGS} times.")

    def _once(self, text: str) -> Samples:
        with TemporaryDirectory(prefix="spoken-brief-", dir=_scratch()) as folder:
            path = Path(folder) / "speech.wav"
            self._worker.order(text, path)
            return read_wav(path) if path.exists() else silence(0)


def _scratch() -> Path | None:
    """Memory, where there is such a folder: it must speak when the disk is full, to say so."""
    memory = Path("/dev/shm")  # noqa: S108 - the folder in it has a random name, and is ours alone
    return memory if os.access(memory, os.W_OK) else None


class _Worker:
    """The child process, started at the first order and again after a hang."""

    def __init__(self, name: str, words_per_minute: int, pitch: int) -> None:
        self._voice = (name, str(words_per_minute), str(pitch))
        self._child: subprocess.Popen[str] | None = None

    def order(self, text: str, path: Path) -> None:
        for _ in range(2):
            answer = self._ask(json.dumps({"text": text, "path": str(path)}))
            if answer == "done":
                return
            if answer:
                raise BadInput(answer)
            self._discard()
        raise BadInput(f"espeak-ng gave no sound for {text!r} within {DEADLINE_S} s.")

    def _ask(self, order: str) -> str:
        if self._child is not None and self._child.poll() is not None:
            self._discard()
        if self._child is None:
            self._child = subprocess.Popen(
                [sys.executable, "-m", "assistant.speaking.espeak_child", *self._voice],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
            )
        child = self._child
        if child.stdin is None or child.stdout is None:
            raise RuntimeError("a child process without pipes")
        deadline = Timer(DEADLINE_S, child.kill)
        deadline.start()
        try:
            child.stdin.write(order + "\n")
            child.stdin.flush()
            return child.stdout.readline().strip()
        except BrokenPipeError:
            return ""
        finally:
            deadline.cancel()

    def _discard(self) -> None:
        """End a child that is dead or gave no answer; the next order starts another."""
        if self._child is not None:
            self._child.kill()
            with suppress(BrokenPipeError):  # of what it never took
                self._child.communicate()
            self._child = None


@cache
def _worker(name: str, words_per_minute: int, pitch: int) -> _Worker:
    return _Worker(name, words_per_minute, pitch)
