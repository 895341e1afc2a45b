"""The watcher's own record of a case: what it said and saw, written after it spoke.

It is a file of its own beside the conversation's, so that neither process can lock, delay or tear
what the other writes. The debrief merges both by their clocks.
"""

import json
import logging
import threading
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, Literal, Protocol

from assistant.clock import boot_id, read_wall
from assistant.files.chained_rows import ChainedRows

RECORD_NAME = "watcher.sqlite"
RETRY_S = 1.0
COLUMNS = {
    "at_s": "REAL NOT NULL",
    "wall": "TEXT NOT NULL",
    "wall_trusted": "INTEGER NOT NULL",
    "boot_id": "TEXT NOT NULL",
    "clock": "TEXT NOT NULL",
    "kind": "TEXT NOT NULL",
    "text": "TEXT NOT NULL",
    "data": "TEXT NOT NULL",
}
"""Of a row; its data are JSON."""

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class WatcherRow:
    """One row of the record."""

    at_s: float
    """On the case's clock; compares only within one boot and one clock."""
    wall: str
    wall_trusted: bool
    boot_id: str
    clock: str
    kind: Literal["said", "event"]
    text: str
    data: Mapping[str, Any] = field(default_factory=dict)


def row_now(
    at_s: float, clock: str, kind: Literal["said", "event"], text: str, data: Mapping[str, Any]
) -> WatcherRow:
    """A row with the wall clock's time of this moment."""
    wall = read_wall()
    return WatcherRow(at_s, wall.at, wall.trusted, boot_id(), clock, kind, text, data)


class Recorder(Protocol):
    """What takes the watcher's rows; it never raises."""

    def add(self, row: WatcherRow) -> None:
        """Take one row."""


class WatcherRecord:
    """Appends rows, each on disk before the next; what the disk does not take waits in memory."""

    def __init__(self, path: Path) -> None:
        self._rows = ChainedRows(path, COLUMNS)

    @property
    def fault(self) -> str:
        """Why rows are not on disk; empty when all are."""
        return self._rows.fault

    def add(self, row: WatcherRow) -> None:
        """Write the row, and those that could not be written before it."""
        # Before it waits for the disk: a row that cannot be written would keep all others waiting.
        data = json.dumps(dict(row.data), default=repr)
        text = row.text.encode("utf-8", "backslashreplace").decode()
        self._rows.add(
            (
                *(float(row.at_s), row.wall, row.wall_trusted, row.boot_id),
                *(row.clock, row.kind, text, data),
            )
        )

    def write(self) -> None:
        """Write what waits, as far as the disk lets us."""
        self._rows.write()

    def move(self, path: Path) -> None:
        """From now on write to this file, also what waits: there the case is now."""
        self._rows.move(path)

    def close(self) -> None:
        """Close the file; a further row opens it again."""
        self._rows.close()


class BackgroundRecord:
    """The same from a thread of its own, so that a slow or dying disk never delays a call."""

    def __init__(self, record: WatcherRecord) -> None:
        self.fault = ""
        """Why rows are not on disk; empty when all are."""
        self._record = record
        self._waiting: deque[WatcherRow] = deque()
        self._moved: Path | None = None
        self._more = threading.Event()
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, name="watcher-record", daemon=True)
        self._thread.start()

    def add(self, row: WatcherRow) -> None:
        """Hand the row to the thread; returns at once."""
        self._waiting.append(row)
        self._more.set()

    def move(self, path: Path) -> None:
        """From now on write to this file, also what waits: there the case is now."""
        self._moved = path
        self._more.set()

    def end(self) -> None:
        """Have what is left written, and the file closed; returns at once."""
        self._ending.set()
        self._more.set()

    @property
    def ended(self) -> bool:
        """Whether that has been done."""
        return not self._thread.is_alive()

    def close(self, patience_s: float = 2.0) -> None:
        """The same, waited for; a disk that hangs is not waited for longer than this."""
        self.end()
        self._thread.join(patience_s)

    def _run(self) -> None:
        while not self._ending.is_set():
            self._more.wait(RETRY_S)
            self._more.clear()
            self._hand_over()
        self._hand_over()
        self._try(self._record.close)

    def _hand_over(self) -> None:
        moved, self._moved = self._moved, None
        if moved is not None:
            self._try(partial(self._record.move, moved))
        while self._waiting:
            self._try(partial(self._record.add, self._waiting.popleft()))
        self._try(self._record.write)

    def _try(self, write: Callable[[], None]) -> None:
        """Whatever goes wrong costs one row, and not the thread for which all others wait."""
        try:
            write()
            fault = self._record.fault
        except Exception as failed:  # noqa: BLE001 - there is nobody to whom it could be raised
            fault = str(failed) or type(failed).__name__
        if fault and fault != self.fault:
            log.warning("the watcher's record: %s", fault)
        self.fault = fault
