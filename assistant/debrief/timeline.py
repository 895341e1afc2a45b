"""The timeline of a case: the conversation's journal and the watcher's own file, in one order.

Each is read without the other, and each as far as it got: a process that was killed or a power
cut costs the rows that never reached the disk and nothing else.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.brief.brief import Brief
from assistant.debrief.placing import how_placed, place, restarts, wall_steps
from assistant.errors import BadInput
from assistant.files.yaml_files import read_yaml
from assistant.journal import rows as journal_rows
from assistant.journal.boots import boots
from assistant.journal.journal import CaseMeta, read_case
from assistant.journal.rows import Kind, Who
from assistant.oximeter.record import RECORD_NAME, ReadRecord, WatcherRow, read_record
from assistant.oximeter.sample_rows import SAMPLES
from assistant.oximeter.settings import OximeterSettings

SATURATION = "saturation"
"""The text of the watcher's rows that are plain samples."""
CURVES = (SATURATION, SAMPLES)
"""Rows that would drown what was said and happened."""


@dataclass(frozen=True, slots=True)
class TimelineEntry:
    """One thing that was said, heard, heard but ignored, or that happened."""

    at_s: float | None
    """From the start of the case; None when it cannot be placed."""
    wall: str
    wall_trusted: bool
    who: Who
    kind: Kind
    text: str
    meaning: str | None = None
    """Of speech, what it was taken for; of an event, its name; of a call, why it was made."""
    item: str | None = None
    confidence: float | None = None
    verdict: str | None = None
    """Of an utterance: `accept`, `ask` or `ignore`."""
    why: str | None = None
    """Of an utterance that was not accepted."""
    lasts_s: float | None = None
    """How long it was to be heard, where that is known."""
    values: Mapping[str, Any] = field(default_factory=dict)
    """The numbers and names that came with it."""


@dataclass(frozen=True, slots=True)
class Saturation:
    """One sample, as the watcher recorded it: at most one a second."""

    at_s: float
    spo2_percent: int
    pulse_bpm: int | None = None


@dataclass(frozen=True, slots=True)
class FeedSample:
    """What the device sent, whether it was believed or not; see `oximeter.sample_rows`."""

    at_s: float
    spo2_percent: int | None
    pulse_bpm: int | None
    usable: bool
    times: int
    """So many came one after the other with these figures."""


@dataclass(frozen=True, slots=True)
class Timeline:
    """All that is on disk of a case."""

    meta: CaseMeta
    rows: tuple[journal_rows.Row, ...]
    """The conversation's own, as they were written."""
    brief: Brief | None
    """The site's brief as it was in this case; None when it is not there or cannot be read."""
    threshold_percent: int | None
    """The site's, at which the saturation was called; None when it cannot be read."""
    entries: tuple[TimelineEntry, ...]
    """In order of time, those that cannot be placed last."""
    saturation: tuple[Saturation, ...]
    samples: tuple[FeedSample, ...]
    """At the feed's pace."""
    notes: tuple[str, ...]
    """What a reader has to know of how far this can be trusted; whole sentences."""
    bad_lines: int
    """Of the watcher's file: torn, or not rows."""


def read_timeline(case: Path) -> Timeline:
    """Read a case's folder.

    Raises BadInput when there is neither a journal nor a watcher's row that can be read.
    """
    notes: list[str] = []
    watched = _read_watched(case, notes)
    try:
        meta, rows = read_case(case)
    except BadInput as fault:
        if not watched.rows:
            raise
        meta, rows = _meta_of_watcher(case, watched.rows[0]), ()
        notes.append(
            f"The conversation's record is missing, times count from the watcher's: {fault}"
        )
    if watched.bad_lines:
        notes.append(f"Lines of {RECORD_NAME} that are torn and left out: {watched.bad_lines}.")
    brief = _read_brief(case, rows, notes)
    notes += restarts(meta, rows)
    notes += wall_steps(meta, rows)
    shifts_s = {meta.boot: 0.0} | boots(rows)
    placed = [(place(meta, shifts_s, row), row) for row in watched.rows]
    notes += how_placed(meta, shifts_s, watched.rows)
    entries = [of_journal(meta, row) for row in rows]
    entries += [of_watcher(at_s, row) for at_s, row in placed if row.text not in CURVES]
    entries.sort(key=_order)
    return Timeline(
        meta=meta,
        rows=rows,
        brief=brief,
        threshold_percent=_read_threshold(case),
        entries=tuple(entries),
        saturation=tuple(_saturations(placed)),
        samples=tuple(_samples(placed)),
        notes=tuple(notes),
        bad_lines=watched.bad_lines,
    )


def _read_brief(case: Path, rows: tuple[journal_rows.Row, ...], notes: list[str]) -> Brief | None:
    try:
        return read_yaml(case / "site" / "brief.yaml", Brief)
    except BadInput as fault:
        if any("event" in row.data for row in rows):
            notes.append(f"Items, answers, clocks and attempts are not measured: {fault}")
        return None


def _read_threshold(case: Path) -> int | None:
    try:
        settings = read_yaml(case / "site" / "oximeter.yaml", OximeterSettings)
    except BadInput:
        return None
    return settings.crossing.threshold_percent


def _read_watched(case: Path, notes: list[str]) -> ReadRecord:
    try:
        return read_record(case / RECORD_NAME)
    except OSError as fault:
        notes.append(f"The watcher's record cannot be read: {fault.strerror}.")
        return ReadRecord((), 0)


def _meta_of_watcher(case: Path, first: WatcherRow) -> CaseMeta:
    return CaseMeta(
        case=case.resolve().name,
        site="unknown",
        clock=first.clock,
        boot=first.boot_id,
        started_mono_s=first.at_s,
        started_wall=first.wall,
        started_wall_trusted=first.wall_trusted,
    )


# Rows as entries.


def of_journal(meta: CaseMeta, row: journal_rows.Row) -> TimelineEntry:
    """A row of the conversation's record."""
    data = dict(row.data)
    event = data.pop("event", None)
    data.pop("version", None)
    spoken = row.kind in ("heard", "ignored")
    return TimelineEntry(
        at_s=round(row.mono_s - meta.started_mono_s, 2),
        wall=row.wall,
        wall_trusted=row.wall_trusted,
        who=row.who,
        kind=row.kind,
        text=row.text,
        meaning=row.meaning or event,
        item=row.item,
        confidence=row.confidence,
        verdict=data.get("verdict") if spoken else None,
        why=(data.get("why") or None) if spoken else None,
        lasts_s=_lasts_s(row, data),
        values=data.get("values", {}) if spoken else data,
    )


def _lasts_s(row: journal_rows.Row, data: Mapping[str, Any]) -> float | None:
    if row.kind == "said":
        return data.get("lasts_s")
    ended_s = data.get("ended_s")
    return round(ended_s - row.mono_s, 2) if isinstance(ended_s, float) else None


def of_watcher(at_s: float | None, row: WatcherRow) -> TimelineEntry:
    """A row of the watcher, placed at that time."""
    values = dict(row.data)
    return TimelineEntry(
        at_s=at_s,
        wall=row.wall,
        wall_trusted=row.wall_trusted,
        who="watcher",
        kind=row.kind,
        text=row.text,
        meaning=values.pop("kind", None),
        # Raw times of its clock are taken out: its own are `at_s` and how long the call lasted.
        lasts_s=_length_s(values),
        values=values,
    )


def _length_s(values: dict[str, Any]) -> float | None:
    started_s, until_s = values.pop("started_s", None), values.pop("until_s", None)
    if isinstance(started_s, float) and isinstance(until_s, float):
        return round(until_s - started_s, 2)
    return None


def _order(entry: TimelineEntry) -> tuple[bool, float]:
    return entry.at_s is None, entry.at_s or 0.0


def _saturations(
    placed: list[tuple[float | None, WatcherRow]],
) -> Iterator[Saturation]:
    for at_s, row in placed:
        spo2 = row.data.get("spo2_percent")
        if row.text == SATURATION and at_s is not None and isinstance(spo2, int):
            yield Saturation(at_s, spo2, row.data.get("pulse_bpm"))


def _samples(placed: list[tuple[float | None, WatcherRow]]) -> Iterator[FeedSample]:
    for at_s, row in placed:
        runs = row.data.get("samples")
        if row.text != SAMPLES or at_s is None or not isinstance(runs, list):
            continue
        for first_s, spo2, pulse, usable, times in runs:
            yield FeedSample(round(at_s + first_s - row.at_s, 2), spo2, pulse, usable, times)
