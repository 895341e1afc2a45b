"""espeak-ng through pyttsx3, in a child process.

pyttsx3 keeps one engine per process, may hang in its loop and must stay in one thread; in a child
of its own a hang costs one phrase and a restart, never the conversation.
"""

import json
import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Timer

from assistant.errors import BadInput
from assistant.sound import RATE_HZ, Samples, read_wav, silence

DEADLINE_S = 20.0
MOST_RENDERINGS = 8
SAME_WITHIN_SAMPLES = RATE_HZ // 50


class Espeak:
    """One espeak-ng voice."""

    def __init__(self, name: str, words_per_minute: int, pitch: int) -> None:
        self._order: dict[str, str | int] = {
            "voice": name,
            "rate": words_per_minute,
            "pitch": pitch,
        }

    def render(self, text: str) -> Samples:
        """Speak into a file and read it back, until two renderings agree.

        pyttsx3 drops the sound that reaches it together with the end of the message, so that now
        and then a phrase is cut short, or empty, or there is no file; a question must not go
        missing like that.
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
            _worker.order({**self._order, "text": text, "path": str(path)})
            return read_wav(path) if path.exists() else silence(0)


def _scratch() -> Path | None:
    """Memory, where there is such a folder: it must speak when the disk is full, to say so."""
    memory = Path("/dev/shm")  # noqa: S108 - the folder in it has a random name, and is ours alone
    return memory if os.access(memory, os.W_OK) else None


class _Worker:
    """The child process, started at the first order and again after a hang."""

    def __init__(self) -> None:
        self._child: subprocess.Popen[str] | None = None

    def order(self, order: dict[str, str | int]) -> None:
        for _ in range(2):
            answer = self._ask(order)
            if answer == "done":
                return
            if answer:
                raise BadInput(answer)
            self._bury()
        raise BadInput(f"espeak-ng gave no sound for {order['text']!r} within {DEADLINE_S} s.")

    def _ask(self, order: dict[str, str | int]) -> str:
        if self._child is not None and self._child.poll() is not None:
            self._bury()
        if self._child is None:
            self._child = subprocess.Popen(
                [sys.executable, "-m", "assistant.speaking.espeak"],
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
            child.stdin.write(json.dumps(order) + "\n")
            child.stdin.flush()
            return child.stdout.readline().strip()
        except BrokenPipeError:
            return ""
        finally:
            deadline.cancel()

    def _bury(self) -> None:
        """A child that gave no answer is dead, dying or hangs: only another one can speak."""
        if self._child is not None:
            self._child.kill()
            with suppress(BrokenPipeError):  # of what it never took
                self._child.communicate()
            self._child = None


_worker = _Worker()


def _serve() -> None:
    """The child: one order a line in, one answer a line out."""
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)  # pyttsx3 prints on standard output
    try:
        import pyttsx3

        engine = pyttsx3.init(driverName="espeak")
    except (ImportError, RuntimeError, OSError) as fault:
        print(f"espeak-ng cannot be used ({fault}); install it.", file=answers, flush=True)
        return
    # Asked for a voice that it does not have, espeak-ng speaks on with the one it has.
    known = {
        name for voice in engine.getProperty("voices") for name in (voice.id, Path(voice.id).name)
    }
    for line in sys.stdin:
        order = json.loads(line)
        if order["voice"].lower() not in known:
            print(f"espeak-ng has no voice {order['voice']!r}.", file=answers, flush=True)
            continue
        engine.setProperty("voice", order["voice"])
        engine.setProperty("rate", order["rate"])
        engine.setProperty("pitch", order["pitch"])
        engine.save_to_file(order["text"], order["path"])
        engine.runAndWait()
        print("done", file=answers, flush=True)


if __name__ == "__main__":
    _serve()
