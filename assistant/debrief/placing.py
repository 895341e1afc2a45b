"""The watcher's rows on the case's time, and how far the clocks are to be trusted."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from assistant.debrief.times import clock
from assistant.journal.journal import CaseMeta
from assistant.journal.rows import Row
from assistant.oximeter.record import WatcherRow

WALL_STEP_S = 10.0
"""A wall clock that moves against the elapsed time by more, from one row to the next, jumped."""


@dataclass(frozen=True, slots=True)
class Restart:
    """The program was started anew in the middle of a case; times in s from its beginning."""

    at_s: float
    since_s: float
    """When the last on record before was over: at the earliest from then it did not listen."""
    rebooted: bool
    """So was the machine: nobody knows for how long it was off."""


def _same_clock(meta: CaseMeta, shifts_s: Mapping[str, float], row: WatcherRow) -> bool:
    """Whether the row is on the case's clock: in one of the machine's runs that the case knows."""
    return row.boot_id in shifts_s and row.clock == meta.clock


def place(meta: CaseMeta, shifts_s: Mapping[str, float], row: WatcherRow) -> float | None:
    """Its time in s from the beginning of the case; None when nothing relates the two clocks."""
    if _same_clock(meta, shifts_s, row):
        return round(row.at_s + shifts_s[row.boot_id] - meta.started_mono_s, 2)
    if meta.started_wall_trusted and row.wall_trusted:
        elapsed_s = _wall_s(meta.started_wall, row.wall)
        return None if elapsed_s is None else round(elapsed_s, 2)
    return None


def how_placed(
    meta: CaseMeta,
    shifts_s: Mapping[str, float],
    rows: tuple[WatcherRow, ...],
    whose: str = "watcher",
) -> Iterator[str]:
    """What a reader has to know of rows that are on another clock."""
    strange = [row for row in rows if not _same_clock(meta, shifts_s, row)]
    lost = sum(place(meta, shifts_s, row) is None for row in strange)
    if len(strange) > lost:
        yield (
            f"Rows of the {whose} on another clock or after a restart of the machine, placed by "
            f"wall time: {len(strange) - lost}."
        )
    if lost:
        yield (
            f"Rows of the {whose} on another clock or after a restart of the machine that cannot "
            f"be placed, because the wall clock was not synchronised: {lost}."
        )


def restarts(meta: CaseMeta, rows: tuple[Row, ...]) -> Iterator[Restart]:
    """When the program or the machine was started anew, and since when it had heard nothing."""
    listened_s = meta.started_mono_s
    for row in rows:
        if row.data.get("event") == "restarted":
            yield Restart(
                round(row.mono_s - meta.started_mono_s, 2),
                round(listened_s - meta.started_mono_s, 2),
                bool(row.data.get("rebooted")),
            )
        listened_s = max(listened_s, _until_s(row))


def told_of_restarts(found: Iterable[Restart]) -> Iterator[str]:
    """The same in whole sentences."""
    for one in found:
        if one.rebooted:
            yield (
                f"The machine was started anew at {clock(one.at_s)}: clocks that ran then are "
                "unknown, and later times count from there."
            )
        else:
            since, until = clock(one.since_s), clock(one.at_s)
            deaf = f"from {since} at the earliest to {until}" if since != until else f"at {until}"
            yield (
                f"Not listening {deaf}, when the program was started anew: what was said "
                "meanwhile is not on record."
            )


def _until_s(row: Row) -> float:
    """When what the row tells of was over, on the case's clock."""
    ended_s = row.data.get("ended_s")
    lasts_s = row.data.get("lasts_s") if row.kind == "said" else None
    until_s = row.mono_s + lasts_s if isinstance(lasts_s, float) else row.mono_s
    return max(until_s, ended_s) if isinstance(ended_s, float) else until_s


def wall_steps(meta: CaseMeta, rows: tuple[Row, ...]) -> Iterator[str]:
    """A wall clock that jumped during the case; but what was heard is dated after its end."""
    if meta.clock == "sound":
        return  # a rehearsal's sound is not bound to the wall clock
    drift_s = 0.0
    for row in rows:
        elapsed_s = _wall_s(meta.started_wall, row.wall)
        if elapsed_s is None or row.who == "team":
            continue
        at_s = row.mono_s - meta.started_mono_s
        step_s = elapsed_s - at_s - drift_s
        if abs(step_s) > WALL_STEP_S:
            drift_s += step_s
            yield (
                f"The wall clock jumped by {step_s:+.0f} s about {clock(at_s)}; "
                "elapsed times are right all the same."
            )


def _wall_s(begin: str, end: str) -> float | None:
    try:
        return (datetime.fromisoformat(end) - datetime.fromisoformat(begin)).total_seconds()
    except (ValueError, TypeError):
        return None
