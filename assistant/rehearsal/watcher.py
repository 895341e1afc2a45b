"""The watcher of a rehearsal: stepped by the conductor, or a process of its own."""

import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from assistant.clock import Clock
from assistant.oximeter.calls import ReadyCalls
from assistant.oximeter.crossing import Call, CallKind
from assistant.oximeter.feed import SerialFeed
from assistant.oximeter.messages import Calling, Message, WatcherLine
from assistant.oximeter.record import RECORD_NAME, WatcherRecord
from assistant.oximeter.watcher import Watcher
from assistant.rehearsal.room_speakers import RoomSpeaker
from assistant.site.site import Site
from assistant.speaking.voices import Voice

ENDS_WITHIN_S = 5.0


class RunningWatcher(Protocol):
    """However the watcher runs."""

    def step(self) -> Iterator[Message]:
        """What it has to tell since the last step."""

    def close(self) -> None:
        """End it."""


class SameProcess:
    """In lock-step: the watcher reads the pseudo-terminal when the conductor says so."""

    def __init__(
        self,
        *,
        site: Site,
        folder: Path,
        port: str,
        clock: Clock,
        voice: Voice,
        speaker: RoomSpeaker,
    ) -> None:
        self._told: list[Message] = []
        self._record = WatcherRecord(folder / RECORD_NAME)
        self._feed = SerialFeed(port, site.oximeter.frame_layout, clock)
        self._watcher = Watcher(
            site.oximeter,
            self._feed,
            speak=speaker,
            record=self._record,
            clock=clock,
            tell=self._told.append,
            calls=ReadyCalls(site.oximeter.crossing, site.oximeter.words, voice.render),
        )

    def step(self) -> Iterator[Message]:
        """Let the watcher do what is due, and pass on what it told."""
        self._watcher.step()
        told, self._told[:] = list(self._told), []
        yield from told

    def close(self) -> None:
        """End the watch and let the port go."""
        self._watcher.end()
        self._feed.close()


class OwnProcess:
    """In real time: `spoken-brief watch`, which ends with this process."""

    def __init__(
        self,
        *,
        site: Site,
        folder: Path,
        port: str,
        clock: Clock,  # noqa: ARG002 - it has the system's own
        voice: Voice,
        speaker: RoomSpeaker,
    ) -> None:
        # Its own loudspeaker is the machine's. The simulated room has to have the call too.
        self._ready = ReadyCalls(site.oximeter.crossing, site.oximeter.words, voice.render)
        self._speaker = speaker
        self._line = WatcherLine(folder)
        self._child = subprocess.Popen(
            [
                *(sys.executable, "-m", "assistant", "watch", "--case", str(folder)),
                *("--site", str(site.folder), "--port", port),
                *("--ends-with", str(os.getpid())),
            ],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
        )

    def step(self) -> Iterator[Message]:
        """What the process has told since; a call sounds in the room as well."""
        for message in self._line.poll():
            if isinstance(message, Calling):
                call = Call(CallKind(message.kind), message.started_s, message.level_percent)
                # On a machine without sound the simulated room hears it all the same.
                yield replace(message, until_s=self._speaker.say(self._ready.of(call).samples))
            else:
                yield message

    def close(self) -> None:
        """End the process, by force when it does not end in 5 s."""
        self._child.terminate()
        try:
            self._child.wait(ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            self._child.kill()
        self._line.close()
