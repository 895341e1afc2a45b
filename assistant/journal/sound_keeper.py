"""The sound of what was said to the assistant, where a site keeps it: a file an utterance.

A row names its file and the hash of it. The row is on disk first; the file follows from a thread of
its own, so that no slow disk delays an answer for the sake of sound.
"""

import hashlib
import io
import os
import queue
import threading
import wave
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from assistant.audio.sound import RATE_HZ, Samples
from assistant.files.disk import sync_folder
from assistant.journal.kept_sounds import FOLDER


@dataclass(frozen=True, slots=True)
class KeptSound:
    """One utterance as a WAV file that is still to be written."""

    name: str
    content: bytes

    @property
    def told(self) -> dict[str, str]:
        """What its row has of it."""
        return {"file": self.name, "sha256": hashlib.sha256(self.content).hexdigest()}


class SoundKeeper:
    """Writes the sounds of one case."""

    def __init__(self, case: Path) -> None:
        self._folder = case / FOLDER
        self._waiting: queue.SimpleQueue[KeptSound | None] = queue.SimpleQueue()
        self._failed: queue.SimpleQueue[tuple[str, str]] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="sound", daemon=True)
        self._thread.start()

    def packed(self, samples: Samples, started_s: float) -> KeptSound:
        """An utterance as a file; its name is when it began, in ms on the case's clock."""
        made = io.BytesIO()
        with wave.open(made, "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE_HZ)
            file.writeframes(samples.astype("<i2").tobytes())
        return KeptSound(f"{round(started_s * 1000):010d}.wav", made.getvalue())

    def write(self, sound: KeptSound) -> None:
        """Hand it to the thread; returns at once."""
        self._waiting.put(sound)

    def move(self, case: Path) -> None:
        """From now on write to this folder: there the case is now."""
        self._folder = case / FOLDER

    def failures(self) -> list[tuple[str, str]]:
        """The files that could not be written since the last call, each with why."""
        found = []
        while not self._failed.empty():
            found.append(self._failed.get())
        return found

    def close(self, patience_s: float = 2.0) -> None:
        """Write what is left; a disk that hangs is not waited for longer than this."""
        self._waiting.put(None)
        self._thread.join(patience_s)

    def _run(self) -> None:
        while (sound := self._waiting.get()) is not None:
            try:
                self._write(sound)
            except Exception as fault:  # noqa: BLE001 - it costs one sound, and not the thread
                with suppress(OSError):
                    self._beside(sound).unlink(missing_ok=True)
                why = getattr(fault, "strerror", None) or str(fault) or type(fault).__name__
                self._failed.put((sound.name, why))

    def _write(self, sound: KeptSound) -> None:
        self._folder.mkdir(mode=0o700, exist_ok=True)
        beside = self._beside(sound)
        beside.touch(mode=0o600)
        with beside.open("r+b") as file:
            file.write(sound.content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(self._folder / sound.name)
        sync_folder(self._folder)

    def _beside(self, sound: KeptSound) -> Path:
        """Where it is until it is whole: a power cut leaves no half of a sound under its name."""
        return self._folder / f".{sound.name}"
