"""A case that is going on, seen from a second terminal: read only, and nobody waits for it."""

import time
from collections.abc import Iterator
from pathlib import Path

from assistant.debrief.entries import TimelineEntry, of_facilitator, of_journal, of_watcher
from assistant.debrief.placing import place
from assistant.debrief.timeline import CURVES
from assistant.journal import facilitator
from assistant.journal.boots import boots
from assistant.journal.journal import look_on
from assistant.journal.rows import Row
from assistant.oximeter.record import RECORD_NAME, WatcherRow, read_row

EVERY_S = 0.5


def follow(case: Path, every_s: float = EVERY_S) -> Iterator[TimelineEntry]:
    """What is on record and, from then on, each thing as it comes, until the case is ended.

    Whatever was added between two looks comes in order of time; samples are left out.

    Raises BadInput when the folder holds no case.
    """
    rows: list[Row] = []
    watcher = _Lines(case / RECORD_NAME)
    marks = _Lines(case / facilitator.RECORD_NAME)
    while True:
        meta, more = look_on(case, len(rows))
        rows += more
        shifts_s = {meta.boot: 0.0} | boots(rows)
        fresh = [of_journal(meta, row) for row in more]
        fresh += [
            of_watcher(place(meta, shifts_s, row), row)
            for row in watcher.more()
            if row.text not in CURVES
        ]
        fresh += [of_facilitator(place(meta, shifts_s, row), row) for row in marks.more()]
        yield from sorted(fresh, key=lambda one: (one.at_s is None, one.at_s or 0.0))
        if any(row.data.get("event") == "ended" for row in more):
            return
        time.sleep(every_s)


class _Lines:
    """Reads on in a file of rows: following costs no more in the tenth hour."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._read_bytes = 0
        self._last: WatcherRow | None = None

    def more(self) -> Iterator[WatcherRow]:
        """The rows that are whole and were not there at the last look."""
        try:
            with self._path.open("rb") as file:
                file.seek(self._read_bytes)
                data = file.read()
        except FileNotFoundError:
            return
        whole = data[: data.rfind(b"\n") + 1]
        self._read_bytes += len(whole)
        for line in whole.split(b"\n"):
            row = read_row(line)
            if row is not None and row != self._last:  # written twice, its sync had failed
                yield row
                self._last = row
