"""The timeline of a case: the conversation's journal and the watcher's own record, in one order.

Each is read without the other, and each as far as it got: a process that was killed or a power
cut costs the rows that never reached the disk and nothing else.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.brief.brief import Brief
from assistant.debrief.entries import (
    TimelineEntry,
    of_facilitator,
    of_journal,
    of_watcher,
    unspoken,
)
from assistant.debrief.kept_site import read_kept
from assistant.debrief.placing import (
    Restart,
    how_placed,
    place,
    restarts,
    told_of_restarts,
    wall_steps,
)
from assistant.errors import BadInput
from assistant.journal import facilitator
from assistant.journal import rows as journal_rows
from assistant.journal.boots import boots
from assistant.journal.damaged import salvage_case
from assistant.journal.journal import CaseMeta, read_case
from assistant.journal.kept_sounds import kept_sounds
from assistant.oximeter.reading import ReadRecord, read_record
from assistant.oximeter.record import RECORD_NAME, WatcherRow
from assistant.oximeter.sample_rows import SAMPLES, SATURATION
from assistant.oximeter.settings import OximeterSettings

if TYPE_CHECKING:
    from assistant.dosing.formulary import Formulary

CURVES = (SATURATION, SAMPLES)
"""Rows that would drown what was said and happened."""
TYPED_CASE = (
    "This case was typed and read, and nobody spoke: how long each word took is made up, and so is "
    "each wait."
)
NO_WATCHER = "No saturation was recorded: there is no record of a watcher."


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
    formulary: "Formulary | None"
    """The site's as it was in this case, by which an allergy bars a drug; None when no allergy is
    on record, and when it is not there or cannot be read."""
    threshold_percent: int | None
    """The site's, at which the saturation was called; None when it cannot be read."""
    entries: tuple[TimelineEntry, ...]
    """In order of time, those that cannot be placed last."""
    saturation: tuple[Saturation, ...]
    samples: tuple[FeedSample, ...]
    """At the feed's pace."""
    restarts: tuple[Restart, ...]
    notes: tuple[str, ...]
    """What a reader has to know of how far this can be trusted; whole sentences."""
    bad_lines: int
    """Of the watcher's record and the facilitator's: rows that are torn or make no sense."""


def read_timeline(case: Path) -> Timeline:
    """Read a case's folder.

    Raises BadInput when there is neither a journal nor a watcher's row that can be read.
    """
    notes: list[str] = []
    nothing = ReadRecord((), 0)
    watched = _read_beside(case / RECORD_NAME, "watcher", notes)
    unseen = () if watched is None else tuple(_of_no_saturation(watched))
    watched = watched or nothing
    marked = _read_beside(case / facilitator.RECORD_NAME, "facilitator", notes) or nothing
    meta, rows = _read_journal(case, watched, notes)
    brief = _read_brief(case, rows, notes)
    if any(row.text == journal_rows.TYPED for row in rows):
        notes.append(TYPED_CASE)
    anew = tuple(restarts(meta, rows))
    notes += told_of_restarts(anew)
    notes += wall_steps(meta, rows)
    sounds = len(kept_sounds(rows))
    if sounds:
        notes.append(f"The sound of utterances to the assistant is kept with this case: {sounds}.")
    shifts_s = {meta.boot: 0.0} | boots(rows)
    placed = [(place(meta, shifts_s, row), row) for row in watched.rows]
    notes += how_placed(meta, shifts_s, watched.rows)
    notes += how_placed(meta, shifts_s, marked.rows, "facilitator")
    entries = list(unspoken(of_journal(meta, row) for row in rows))
    entries += [of_watcher(at_s, row) for at_s, row in placed if row.text not in CURVES]
    entries += [of_facilitator(place(meta, shifts_s, row), row) for row in marked.rows]
    entries.sort(key=_order)
    return Timeline(
        meta=meta,
        rows=rows,
        brief=brief,
        formulary=_read_formulary(case, rows),
        threshold_percent=_read_threshold(case),
        entries=tuple(entries),
        saturation=tuple(_saturations(placed)),
        samples=tuple(_samples(placed)),
        restarts=anew,
        notes=(*notes, *unseen),
        bad_lines=watched.bad + marked.bad,
    )


def _read_journal(
    case: Path, watched: ReadRecord, notes: list[str]
) -> tuple[CaseMeta, tuple[journal_rows.Row, ...]]:
    """The conversation's record, or what is left of it."""
    try:
        return read_case(case)
    except BadInput as fault:
        why = fault
    try:
        left = salvage_case(case)
    except BadInput:
        if not watched.rows:
            raise why from None
        notes.append(
            "The conversation's record is missing, or cannot be read; times count from the "
            f"watcher's: {why}"
        )
        return _meta_of_watcher(case, watched.rows[0]), ()
    notes.append(
        f"The conversation's record is damaged: of {left.written} rows {len(left.rows)} can be "
        "read, and all that is told here is told without the others."
    )
    return left.meta, left.rows


def _of_no_saturation(watched: ReadRecord) -> Iterator[str]:
    """That none was recorded, so that nobody takes it for one that was never low."""
    if any(row.text in CURVES for row in watched.rows):
        return
    if not watched.rows:
        yield NO_WATCHER
    elif any(row.kind == "said" for row in watched.rows):
        yield "No saturation was recorded, but for what was called."
    else:
        yield "No saturation was recorded."


def _read_brief(case: Path, rows: tuple[journal_rows.Row, ...], notes: list[str]) -> Brief | None:
    try:
        return read_kept(case, "brief.yaml", Brief)
    except BadInput as fault:
        if any("event" in row.data for row in rows):
            notes.append(f"Items, answers, clocks and attempts are not measured: {fault}")
        return None


def _read_formulary(case: Path, rows: tuple[journal_rows.Row, ...]) -> "Formulary | None":
    if not any(row.data.get("figure") == "allergies" for row in rows):
        return None
    # Not above: doses take a while to load, and most cases need none here.
    from assistant.dosing.formulary import Formulary

    try:
        return read_kept(case, "formulary.yaml", Formulary)
    except BadInput:
        return None


def _read_threshold(case: Path) -> int | None:
    try:
        settings = read_kept(case, "oximeter.yaml", OximeterSettings)
    except BadInput:
        return None
    return settings.crossing.threshold_percent


def _read_beside(path: Path, whose: str, notes: list[str]) -> ReadRecord | None:
    """None where it cannot be read, which the notes tell."""
    try:
        read = read_record(path)
    except (BadInput, OSError) as fault:
        notes.append(f"The {whose}'s record cannot be read: {fault}")
        return None
    if read.bad:
        notes.append(f"Rows of the {whose} that are torn or altered and left out: {read.bad}.")
    return read


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
