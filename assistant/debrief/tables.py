"""Cases as comma-separated values, for others' tools."""

import csv
from collections.abc import Iterable, Sequence
from typing import TextIO

from assistant.debrief.scoring import Scored
from assistant.debrief.timeline import Timeline

COLUMNS = (
    *("at_s", "lasts_s", "wall", "wall_trusted", "who", "kind", "text", "meaning", "item"),
    *("confidence", "verdict", "why", "voice"),
)
"""Of one case's table: the fields of an entry that are one value each."""


def write_entries(timeline: Timeline, out: TextIO, expected: Sequence[Scored] = ()) -> None:
    """One row for each entry of a case, samples of the saturation among them; times from its start.

    What a scenario expected stands where it became due; `lasts_s` is then how long it took, and
    `meaning` what became of it. A cell that a spreadsheet would take for a formula is marked as
    text.
    """
    entries = [
        (one.at_s, *(getattr(one, name) for name in COLUMNS[1:])) for one in timeline.entries
    ]
    samples = [
        (one.at_s, None, "", "", "watcher", "sample", f"{one.spo2_percent} %", "saturation")
        for one in timeline.saturation
    ]
    scored = [
        (one.due_at_s, one.took_s, "", "", "scenario", "expected", one.action, one.outcome)
        for one in expected
    ]
    rows = sorted([*entries, *samples, *scored], key=lambda one: (one[0] is None, one[0] or 0.0))
    write_rows(COLUMNS, rows, out)


def write_rows(header: Sequence[str], rows: Iterable[Sequence[object]], out: TextIO) -> None:
    """A header and its rows."""
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        cells = ["" if one is None else one for one in row]
        writer.writerow([_text(one) for one in cells] + [""] * (len(header) - len(cells)))


def _text(cell: object) -> object:
    """What was said may begin with anything; no spreadsheet is to work it out."""
    risky = isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r")
    return f"'{cell}" if risky else cell
