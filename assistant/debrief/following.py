"""A case that is going on, seen from a second terminal: read only, and nobody waits for it."""

import time
from collections.abc import Iterator
from pathlib import Path

from assistant.debrief.placing import place
from assistant.debrief.timeline import SATURATION, TimelineEntry, of_journal, of_watcher
from assistant.journal.boots import boots
from assistant.journal.journal import look_on
from assistant.journal.rows import Row
from assistant.oximeter.record import RECORD_NAME, read_record

EVERY_S = 0.5


def follow(case: Path, every_s: float = EVERY_S) -> Iterator[TimelineEntry]:
    """What is on record and, from then on, each thing as it comes, until the case is ended.

    Whatever was added between two looks comes in order of time; samples are left out.

    Raises BadInput when the folder holds no case.
    """
    rows: list[Row] = []
    watched = 0
    while True:
        meta, more = look_on(case, len(rows))
        rows += more
        seen = read_record(case / RECORD_NAME).rows
        shifts_s = {meta.boot: 0.0} | boots(rows)
        fresh = [of_journal(meta, row) for row in more]
        fresh += [
            of_watcher(place(meta, shifts_s, row), row)
            for row in seen[watched:]
            if row.text != SATURATION
        ]
        watched = len(seen)
        yield from sorted(fresh, key=lambda one: (one.at_s is None, one.at_s or 0.0))
        if any(row.data.get("event") == "ended" for row in more):
            return
        time.sleep(every_s)
