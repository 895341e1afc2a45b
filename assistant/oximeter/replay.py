"""Recorded feeds: bytes as they came, with their times; written while watching, and replayed.

A recording is text: a heading, then one line for each read, its time in s since the first and its
bytes in hexadecimal. Any other file is replayed as the device would send it: line by line, or
frame by frame, at the pace of its layout.
"""

import threading
from collections import deque
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from assistant.clock import Clock
from assistant.errors import BadInput
from assistant.files.named_files import to_read, to_write
from assistant.oximeter.frames import FrameLayout
from assistant.oximeter.lines import TextLayout
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import BluetoothLayout

HEADING = b"# bytes of an oximeter: seconds since the first, and the bytes in hexadecimal\n"
OVER = "the recording is over"
LONGEST_READ_BYTES = 1 << 20
WRITES_EVERY_S = 0.5

Piece = tuple[float, bytes]
"""When it came, in s since the first, and the bytes."""


class RawRecording:
    """Writes such a file from a thread of its own: a slow disk never delays a call."""

    def __init__(self, path: Path) -> None:
        """Raises BadInput when the file cannot be written."""
        try:
            self._file = to_write(path, "a file that can be written").open("wb")
            self._file.write(HEADING)
        except OSError as fault:
            raise BadInput.in_file(
                path, found=fault.strerror or "a fault", allowed="a file that can be written"
            ) from fault
        self._began_s: float | None = None
        self._waiting: deque[Piece] = deque(maxlen=100_000)
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, name="raw-recording", daemon=True)
        self._thread.start()

    def __call__(self, at_s: float, data: bytes) -> None:
        """Keep what was read at that time."""
        if self._began_s is None:
            self._began_s = at_s
        self._waiting.append((at_s - self._began_s, data))

    def close(self, patience_s: float = 2.0) -> None:
        """Write what is left."""
        self._ending.set()
        self._thread.join(patience_s)

    def _run(self) -> None:
        with self._file, suppress(OSError):  # a full disk ends the recording and nothing else
            while not self._ending.wait(WRITES_EVERY_S):
                self._write()
            self._write()

    def _write(self) -> None:
        while self._waiting:
            at_s, data = self._waiting.popleft()
            self._file.write(f"{at_s:.3f} {data.hex()}\n".encode())
        self._file.flush()


class ReplayFeed:
    """A recorded feed, replayed on the clock that it is given."""

    def __init__(
        self, path: Path, layout: FrameLayout | TextLayout | BluetoothLayout, clock: Clock
    ) -> None:
        """Raises BadInput when the file cannot be read."""
        self.name = str(path)
        self.fault = ""
        self._decoder = layout.decoder()
        self._clock = clock
        self._began_s = clock.now_s()
        self._file = _opened(path)
        self._pieces = _pieces(path, self._file, layout)
        self._next = next(self._pieces, None)

    def read(self) -> tuple[Sample, ...]:
        """The samples that are due by now, oldest first."""
        since_s = self._clock.now_s() - self._began_s
        samples: list[Sample] = []
        try:
            while self._next is not None and self._next[0] <= since_s:
                at_s, data = self._next
                samples += self._decoder.take(data, self._began_s + at_s)
                self._next = next(self._pieces, None)
                self.fault = "" if self._next is not None else OVER
        except BadInput as fault:
            self._next, self.fault = None, str(fault)
        return tuple(samples)

    @property
    def over(self) -> bool:
        """Whether there is nothing left of it."""
        return self._next is None

    def close(self) -> None:
        """Close the file; nothing more comes."""
        self._next = None
        self._file.close()


def _opened(path: Path) -> BinaryIO:
    try:
        return to_read(path, "a recorded feed").open("rb")
    except OSError as fault:
        raise BadInput.in_file(
            path, found=fault.strerror or "a fault", allowed="a recorded feed"
        ) from fault


def _pieces(
    path: Path, file: BinaryIO, layout: FrameLayout | TextLayout | BluetoothLayout
) -> Iterator[Piece]:
    if file.readline(len(HEADING)) == HEADING:
        yield from _recorded(path, file)
        return
    file.seek(0)
    if isinstance(layout, BluetoothLayout):
        raise BadInput.in_file(
            path, line=1, found="a file without times", allowed="a recording with its heading"
        )
    number = 0
    while piece := (
        file.readline(LONGEST_READ_BYTES)
        if isinstance(layout, TextLayout)
        else file.read(len(layout.frame))
    ):
        yield number / layout.frames_per_s, piece
        number += 1


def _recorded(path: Path, file: BinaryIO) -> Iterator[Piece]:
    for number, line in enumerate(file, start=2):
        try:
            at_s, data = line.decode("ascii").split()
            yield float(at_s), bytes.fromhex(data)
        except ValueError:
            if line.endswith(b"\n"):  # else a power cut tore it
                raise BadInput.in_file(
                    path,
                    line=number,
                    found=repr(line[:40]),
                    allowed="a time in s and bytes in hexadecimal",
                ) from None
