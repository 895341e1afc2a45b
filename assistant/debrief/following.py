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
from assistant.oximeter.reading import look_on_record, old_rows
from assistant.oximeter.record import RECORD_NAME, WatcherRow

EVERY_S = 0.5


def follow(case: Path, every_s: float = EVERY_S) -> Iterator[TimelineEntry]:
    """What is on record and, from then on, each thing as it comes, until the case is ended.

    Whatever was added between two looks comes in order of time; samples are left out.

    Raises BadInput when the folder holds no case.
    """
    rows: list[Row] = []
    watcher = _Rows(case / RECORD_NAME)
    marks = _Rows(case / facilitator.RECORD_NAME)
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


class _Rows:
    """Reads on in a record: following costs no more in the tenth hour."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._count = 0
        self._old = old_rows(path)

    def more(self) -> Iterator[WatcherRow]:
        """The rows that were not there at the last look."""
        rows = look_on_record(self._path, self._count)
        self._count += len(rows)
        yield from filter(None, (*self._old, *rows))
