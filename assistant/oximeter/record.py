"""The watcher's own file of a case: what it said and saw, written after it spoke.

One JSON object per line; the debrief merges it with the conversation's journal by their clocks. The
last key of a line is its link, a hash of the bytes before that key and of the link before.
"""

import errno
import json
import os
import threading
from collections import deque
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Literal, Protocol

from assistant.chain import BEGINNING, link
from assistant.clock import boot_id, read_wall
from assistant.files.disk import sync_folder

RECORD_NAME = "watcher.jsonl"
RETRY_S = 1.0
LINK_KEY = b', "link": "'
_AFTER_LINK = b'"}'
TAIL_BYTES = 65536
"""Longer than any line, so that the last whole one is in it."""


@dataclass(frozen=True, slots=True)
class WatcherRow:
    """One line of the record."""

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
    """Appends rows, each whole and on disk before the next.

    When the disk is full or gone the rows are kept and tried again with the next one.
    """

    def __init__(self, path: Path) -> None:
        self.fault = ""
        """Why rows are not on disk; empty when all are."""
        self._path = path
        self._waiting: deque[WatcherRow] = deque()
        self._file: int | None = None
        self._torn = False
        """Whether the file ends within a line, so that the next one needs a line of its own."""
        self._link = BEGINNING

    def add(self, row: WatcherRow) -> None:
        """Write the row, and those that could not be written before it."""
        self._waiting.append(row)
        self.write()

    def write(self) -> None:
        """Write what waits, as far as the disk lets us."""
        try:
            while self._waiting:
                self._append(self._waiting[0])
                self._waiting.popleft()
            self.fault = ""
        except OSError as fault:
            self.fault = fault.strerror or str(fault)
            self.close()

    def close(self) -> None:
        """Close the file; the next row opens it again."""
        if self._file is not None:
            with suppress(OSError):  # a disk that went away
                os.close(self._file)
            self._file = None

    def _append(self, row: WatcherRow) -> None:
        if self._file is None:
            self._file = self._opened()
        content = json.dumps(asdict(row), ensure_ascii=False).encode()[:-1]
        linked = link(self._link, content)
        line = content + LINK_KEY + linked.encode() + b'"}\n'
        data = b"\n" + line if self._torn else line
        size = os.fstat(self._file).st_size
        if os.write(self._file, data) < len(data):
            os.ftruncate(self._file, size)  # half a line would look altered
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        os.fsync(self._file)  # when this fails the row is written again, and may stand there twice
        self._torn = False
        self._link = linked

    def _opened(self) -> int:
        is_new = not self._path.exists()
        file = os.open(self._path, os.O_RDWR | os.O_APPEND | os.O_CREAT | os.O_CLOEXEC, 0o600)
        size = os.fstat(file).st_size
        self._torn = size > 0 and os.pread(file, 1, size - 1) != b"\n"
        self._link = _last_link(os.pread(file, TAIL_BYTES, max(0, size - TAIL_BYTES)))
        if is_new:  # or a power cut may lose the name of the file
            sync_folder(self._path.parent)
        return file


class BackgroundRecord:
    """The same from a thread of its own, so that a slow or dying disk never delays a call."""

    def __init__(self, record: WatcherRecord) -> None:
        self._record = record
        self._waiting: deque[WatcherRow] = deque()
        self._more = threading.Event()
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, name="watcher-record", daemon=True)
        self._thread.start()

    def add(self, row: WatcherRow) -> None:
        """Hand the row to the thread; returns at once."""
        self._waiting.append(row)
        self._more.set()

    def close(self, patience_s: float = 2.0) -> None:
        """Write what is left; a disk that hangs is not waited for longer than this."""
        self._ending.set()
        self._more.set()
        self._thread.join(patience_s)

    def _run(self) -> None:
        while not self._ending.is_set():
            self._more.wait(RETRY_S)
            self._more.clear()
            self._hand_over()
        self._hand_over()
        self._record.close()

    def _hand_over(self) -> None:
        while self._waiting:
            self._record.add(self._waiting.popleft())
        self._record.write()


@dataclass(frozen=True, slots=True)
class ReadRecord:
    """A record as read back."""

    rows: tuple[WatcherRow, ...]
    bad_lines: int
    """Lines that are torn or not rows; a power cut leaves at most one."""


def read_record(path: Path) -> ReadRecord:
    """Read a record back. An absent file is an empty record: no watcher ran."""
    try:
        lines = path.read_bytes().split(b"\n")
    except FileNotFoundError:
        return ReadRecord((), 0)
    read = [read_row(line) for line in lines if line.strip()]
    rows = tuple(_without_twins(row for row in read if row is not None))
    return ReadRecord(rows, read.count(None))


def read_row(line: bytes) -> WatcherRow | None:
    """The row of one line; None for one that is torn or no row."""
    try:
        values = json.loads(line)
        values.pop("link", None)
        row = WatcherRow(**values)
    except (ValueError, TypeError, AttributeError):
        return None
    sound = isinstance(row.at_s, int | float) and isinstance(row.text, str)
    return row if sound and row.kind in ("said", "event") else None


def split_link(line: bytes) -> tuple[bytes, str] | None:
    """A line's own bytes and its link; None for one that has none."""
    end = len(line) - len(_AFTER_LINK)
    begin = end - 64 - len(LINK_KEY)
    if begin < 0 or line[end:] != _AFTER_LINK or line[begin : begin + len(LINK_KEY)] != LINK_KEY:
        return None
    return line[:begin], line[end - 64 : end].decode("ascii", "replace")


def _last_link(tail: bytes) -> str:
    """Of the last whole line; what is torn or older than links has none."""
    for line in reversed(tail.split(b"\n")):
        found = split_link(line)
        if found is not None and read_row(line) is not None:
            return found[1]
    return BEGINNING


def _without_twins(rows: Iterator[WatcherRow]) -> Iterator[WatcherRow]:
    """A row whose sync to disk failed was written again: the same row twice is one row."""
    last = None
    for row in rows:
        if row != last:
            yield row
        last = row
