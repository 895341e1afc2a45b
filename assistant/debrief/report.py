"""A case's report: a table on a terminal, aligned lines in a pipe, and JSON."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any, TextIO

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from assistant.debrief.course import SATURATION_HOLDS_S
from assistant.debrief.definitions import SCOPE
from assistant.debrief.entries import TimelineEntry
from assistant.debrief.figures import addressees, figures
from assistant.debrief.findings import Measures
from assistant.debrief.key_moments import key_moments
from assistant.debrief.marks import tapped
from assistant.debrief.measured_lines import UNHEARD, Cells, measured_lines
from assistant.debrief.ratings import Rating
from assistant.debrief.timeline import Timeline
from assistant.debrief.times import clock, fine_clock, short_time

CAUTION = (
    "This is an aid to the team's memory: not a medical record, and not that of a medical device. "
    "It holds what the assistant heard, said and was told, and it may have misheard. "
    "Local protocol and the licensed clinician decide."
)
NOTE = "Note: "
"""Before what a reader has to know of how far a report can be trusted."""
COLUMNS = ("time", "who", "what", "SpO2", "sure", "item", "text")


def as_json(
    timeline: Timeline, measures: Measures, ratings: Sequence[Rating] = ()
) -> dict[str, Any]:
    """The whole case as one JSON object; times in seconds from its start."""
    meta = timeline.meta
    return {
        "case": meta.case,
        "site": meta.site,
        "started_wall": meta.started_wall,
        "wall_trusted": meta.started_wall_trusted,
        "clock": meta.clock,
        "entries": [asdict(entry) for entry in timeline.entries],
        "key_moments": [asdict(one) for one in key_moments(timeline, measures)],
        "measures": asdict(measures),
        "figures": [asdict(one) | asdict(one.definition) for one in figures(measures)],
        "addressees": [asdict(one) for one in addressees(measures.loops)],
        "saturation": [asdict(sample) for sample in timeline.saturation],
        "samples": [asdict(sample) for sample in timeline.samples],
        "ratings": [asdict(one) for one in ratings],
        "notes": list(timeline.notes),
        "bad_lines": timeline.bad_lines,
    }


def write_report(
    timeline: Timeline, measures: Measures, out: TextIO, ratings: Sequence[Rating] = ()
) -> None:
    """Write the report for people; in a pipe no line is wrapped."""
    console = Console(file=out, markup=False, highlight=False, soft_wrap=not out.isatty())
    rows = list(_rows(timeline))
    for line in (*head(timeline, measures), ""):
        console.print(line)
    if out.isatty():
        console.print(_table(rows))
    else:
        for line in (*_aligned([COLUMNS, *rows]), ""):
            console.print(line)
    below = [*_happened(timeline, measures), *measured_lines(measures, ratings)]
    for line in (*_aligned(below), ""):
        console.print(line)
    for line in (*filter(None, [tapped(timeline)]), SCOPE, CAUTION):
        console.print(line)


def head(timeline: Timeline, measures: Measures) -> Iterator[str]:
    """What case it is, when it began, how long it lasted, and what a reader has to know of it."""
    meta = timeline.meta
    trust = "synchronised" if meta.started_wall_trusted else "not synchronised"
    started = f"Started {minute(meta.started_wall)} by a wall clock that was {trust}"
    if not meta.started_wall_trusted:
        started += "; elapsed times do not depend on it"
    until = "its end" if measures.ended else "the last row; nobody ended it aloud"
    yield f"Case {meta.case}, {meta.site}"
    yield started if meta.started_wall else "When it was has been taken out"
    yield f"Lasted {short_time(measures.duration_s)} from the start to {until}"
    if meta.clock != "monotonic":
        yield f"{NOTE}This was a rehearsal: times are those of its {meta.clock}."
    for note in timeline.notes:
        yield f"{NOTE}{note}"
    for unread in measures.unread:
        yield f"{NOTE}This program cannot read a row of the record, and left it out: {unread}"


def minute(wall: str) -> str:
    """A wall clock's time for people: the day and the minute."""
    try:
        return f"{datetime.fromisoformat(wall).astimezone(UTC):%Y-%m-%d, %H:%M} UTC"
    except ValueError:
        return wall


def _rows(timeline: Timeline) -> Iterator[Cells]:
    shown = Shown(timeline)
    for entry in timeline.entries:
        yield (
            fine_clock(entry.at_s),
            spoke(entry),
            _what(entry),
            shown.at(entry.at_s),
            "" if entry.confidence is None else f"{entry.confidence:.2f}",
            entry.item or "",
            told_text(entry),
        )


def _happened(timeline: Timeline, measures: Measures) -> Iterator[Cells]:
    for one in key_moments(timeline, measures):
        yield f"At {clock(one.at_s)}", ": ".join(filter(None, (one.what, one.quoted)))


def spoke(entry: TimelineEntry) -> str:
    """Whose it was, and of a voice in the room also from how near, where that is known."""
    return f"{entry.who}, {entry.voice}" if entry.voice else entry.who


def _what(entry: TimelineEntry) -> str:
    if entry.kind == "event" and entry.meaning:
        return entry.meaning.replace("-", " ")
    return entry.kind


class Shown:
    """The saturation that was known when something happened."""

    def __init__(self, timeline: Timeline) -> None:
        known: list[tuple[float, int | None]] = [
            (sample.at_s, sample.spo2_percent) for sample in timeline.saturation
        ]
        known += [
            (entry.at_s, entry.values.get("spo2_percent"))  # None when the signal or feed is lost
            for entry in timeline.entries
            if entry.who == "watcher" and entry.kind == "said" and entry.at_s is not None
        ]
        self._known = sorted(known, key=lambda one: one[0])

    def at(self, at_s: float | None) -> str:
        """The last one until then, while it is fresh."""
        if at_s is None:
            return ""
        place = bisect_right(self._known, at_s, key=lambda one: one[0]) - 1
        if place < 0:
            return ""
        known_at_s, spo2 = self._known[place]
        fresh = at_s - known_at_s <= SATURATION_HOLDS_S
        return f"{spo2} %" if spo2 is not None and fresh else ""


def told_text(entry: TimelineEntry) -> str:
    """What was said, with how far it was understood."""
    text = " ".join(entry.text.split())
    why = f": {entry.why}" if entry.why else ""
    if entry.kind == "ignored":
        # Only the nearest phrase of the grammar is kept, not what was really said.
        nearest = f'; nearest "{text}"' if text else ""
        return f"(not taken{why}{nearest})"
    if entry.verdict == "ask":
        return f"{text} (not sure{why})"
    return f"{text} ({UNHEARD})" if entry.unheard else text


def told_line(entry: TimelineEntry) -> str:
    """One entry as one line, for a terminal that follows a case."""
    return (
        f"{fine_clock(entry.at_s):>8}  {spoke(entry):<11}  {_what(entry):<16}  {told_text(entry)}"
    )


def _table(rows: Sequence[Cells]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for name in COLUMNS:
        right = name in ("time", "SpO2", "sure")
        table.add_column(name, justify="right" if right else "left", no_wrap=name != "text")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    return table


def _aligned(rows: Sequence[Cells]) -> Iterator[str]:
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        yield "  ".join(cells).rstrip()
