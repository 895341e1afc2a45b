"""What the watcher tells the conversation, and the line it tells it on.

The line is a UNIX datagram socket in the case folder, and nobody ever waits on it: a conversation
that is slow, hung or gone costs the watcher nothing. A glance display has such a line of its own.
"""

import json
import os
import socket
from collections import deque
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from assistant.files.plain_json import read_json

SOCKET_NAME = "watcher.sock"
GLANCE_NAME = "glance.sock"
"""Of a glance display, beside the cases unless somebody says otherwise."""
LONGEST_ADDRESS = 100
"""Linux takes 107 bytes for the path of a socket."""
KEPT_MESSAGES = 64
"""Facts kept for a receiver that is slow; heartbeats are never kept."""
DATAGRAM_BYTES = 4096
MOST_POLLED = 1000
"""In one go: more than such a socket holds, where nobody has raised that (512)."""


@dataclass(frozen=True, slots=True)
class Calling:
    """The watcher is speaking: fall silent, and do not take what is heard for an answer."""

    kind: str
    """One of the values of CallKind."""
    text: str
    level_percent: int | None
    spo2_percent: int | None
    started_s: float
    until_s: float
    """No later than `started_s` when the watcher has no loudspeaker of its own."""

    @property
    def unheard(self) -> bool:
        """Nobody heard it: whoever else has a loudspeaker must say the text."""
        return self.until_s <= self.started_s


@dataclass(frozen=True, slots=True)
class Watching:
    """Heartbeat, about once a second, whether there is a saturation or not."""

    spo2_percent: int | None
    """None when there is none that can be believed."""
    at_s: float
    why: str = ""
    """Why there is none."""
    missing_calls: int = 0
    """So many sentences of calls the voice cannot make; others, or the tone, stand for them."""


@dataclass(frozen=True, slots=True)
class SignalLost:
    """Frames come, and none of them has a saturation that can be believed."""

    at_s: float
    why: str = ""


@dataclass(frozen=True, slots=True)
class FeedLost:
    """Nothing comes from the oximeter."""

    at_s: float
    why: str = ""


@dataclass(frozen=True, slots=True)
class Restored:
    """A saturation that can be believed, after a loss."""

    at_s: float


@dataclass(frozen=True, slots=True)
class WatchEnded:
    """The watcher ends of its own accord: nobody watches from now on."""

    at_s: float


Message = Calling | Watching | SignalLost | FeedLost | Restored | WatchEnded
KINDS: dict[str, type[Message]] = {
    kind.__name__: kind for kind in (Calling, Watching, SignalLost, FeedLost, Restored, WatchEnded)
}
_READERS: dict[str, TypeAdapter[Any]] = {name: TypeAdapter(kind) for name, kind in KINDS.items()}


def to_json(message: Message) -> str:
    """One message as one line of JSON."""
    return json.dumps({"message": type(message).__name__, **asdict(message)})


def from_json(text: str) -> Message | None:
    """The message, or None for anything else that somebody may have sent."""
    try:
        fields = read_json(text)
        read: Message = _READERS[fields.pop("message")].validate_python(fields)
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
    return read


class WatcherLine:
    """The conversation's end: it binds the socket and polls it."""

    def __init__(self, case_dir: Path, name: str = SOCKET_NAME) -> None:
        self._case = _CaseSocket(case_dir, name)
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.setblocking(False)
        self._case.path.unlink(missing_ok=True)  # of a conversation that was killed
        # Before it is bound: the file is never there with any other mode (Linux).
        os.fchmod(self._socket.fileno(), 0o600)
        self._socket.bind(self._case.address)

    def poll(self) -> Iterator[Message]:
        """What has come since, oldest first; never waits, nor is kept by somebody who sends faster
        than this is."""
        for _ in range(MOST_POLLED):
            try:
                data = self._socket.recv(DATAGRAM_BYTES)
            except OSError:  # mostly BlockingIOError: no more
                return
            message = from_json(data.decode("utf-8", "replace"))
            if message is not None:
                yield message

    def close(self) -> list[Message]:
        """Take the socket out of the case folder; return what had come and was not polled.

        It is out before that is looked for: what the watcher tells from then on it keeps, and tells
        whoever comes next.
        """
        with suppress(OSError):  # on a disk that has become read-only
            self._case.path.unlink(missing_ok=True)
        left = list(self.poll())
        self._socket.close()
        self._case.close()
        return left


class ToConversation:
    """The watcher's end: `tell(message)` returns at once, whatever becomes of the message."""

    def __init__(self, case_dir: Path, name: str = SOCKET_NAME) -> None:
        self._case = _CaseSocket(case_dir, name)
        self._name = name
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.setblocking(False)
        self._kept: deque[Message] = deque(maxlen=KEPT_MESSAGES)

    def __call__(self, message: Message) -> None:
        """Send it now, behind what could not be sent before; never waits."""
        if not isinstance(message, Watching):
            self._kept.append(message)
        while self._kept and self._sent(self._kept[0]):
            self._kept.popleft()
        if isinstance(message, Watching) and not self._kept:
            self._sent(message)

    def move(self, case_dir: Path) -> None:
        """The other end is in this folder from now on. Raises OSError when it is not there."""
        moved = _CaseSocket(case_dir, self._name)
        self._case.close()
        self._case = moved

    def close(self) -> None:
        """Let the socket go."""
        self._socket.close()
        self._case.close()

    def _sent(self, message: Message) -> bool:
        try:
            self._socket.sendto(to_json(message).encode(), self._case.address)
        except OSError:  # full, absent, killed, or between two conversations
            return False
        return True


def somebody_listens(case_dir: Path) -> bool:
    """Whether a conversation has its end of the line open; it is told nothing by being asked."""
    with suppress(OSError):
        case = _CaseSocket(case_dir, SOCKET_NAME)
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as line:
                line.connect(case.address)
                return True
        finally:
            case.close()
    return False


class _CaseSocket:
    """The socket's path, and an address for it that is short enough wherever the case lies."""

    def __init__(self, case_dir: Path, name: str) -> None:
        self.path = case_dir / name
        self._folder = os.open(case_dir, os.O_RDONLY | os.O_DIRECTORY)
        address = str(self.path)
        if len(os.fsencode(address)) > LONGEST_ADDRESS:
            address = f"/proc/self/fd/{self._folder}/{name}"
        self.address = address

    def close(self) -> None:
        os.close(self._folder)
