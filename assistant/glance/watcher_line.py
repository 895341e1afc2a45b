"""The saturation as the watcher tells it to the display.

The display has a socket of its own, to which the watcher sends what it sends to the conversation.
The watcher never waits for either.
"""

from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from assistant.oximeter.messages import WatcherLine, Watching

FRESH_S = 3.0
"""The watcher sends one every second; an older one is not shown."""


class Kind(Enum):
    """What can be said of the saturation now."""

    ABOVE = "above"
    LOW = "low"
    """At the threshold or below it."""
    NONE = "none"
    """The watcher has no reading that it believes."""
    UNWATCHED = "unwatched"
    """Nothing comes from a watcher."""


@dataclass(frozen=True, slots=True)
class SeenSaturation:
    """The saturation to show."""

    kind: Kind
    threshold_percent: int
    percent: int | None = None
    """None unless the watcher believes it and sent it just now."""


class SaturationListener:
    """Receives the watcher's heartbeats; asking it for the saturation never waits."""

    def __init__(self, socket: Path, threshold_percent: int) -> None:
        """Raises OSError when the socket cannot be made."""
        self._line = WatcherLine(socket.parent, socket.name)
        self._threshold_percent = threshold_percent
        self._last: Watching | None = None

    def saturation(self, now_s: float) -> SeenSaturation:
        """The saturation at this moment of the machine's monotonic clock."""
        for message in self._line.poll():
            if isinstance(message, Watching):
                self._last = message
        return judge(self._last, self._threshold_percent, now_s)

    def close(self) -> None:
        """Remove the socket."""
        self._line.close()


def judge(last: Watching | None, threshold_percent: int, now_s: float) -> SeenSaturation:
    """The saturation by the watcher's last heartbeat."""
    if last is None or not 0 <= now_s - last.at_s <= FRESH_S:
        return SeenSaturation(Kind.UNWATCHED, threshold_percent)
    if last.spo2_percent is None:
        return SeenSaturation(Kind.NONE, threshold_percent)
    kind = Kind.LOW if last.spo2_percent <= threshold_percent else Kind.ABOVE
    return SeenSaturation(kind, threshold_percent, last.spo2_percent)
