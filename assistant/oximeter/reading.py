"""The watcher's record of a case, and the facilitator's of the same form, read back and verified.

Older versions wrote a line of JSON a row, whose last key was its link: a hash of the bytes before
that key and of the link before. Such a file lies beside the rows of a case that went on since, and
comes before them.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.chain import BEGINNING, Verified, link
from assistant.errors import BadInput
from assistant.files.plain_json import read_json
from assistant.files.rows_read_back import read_rows, verify_rows
from assistant.oximeter.record import COLUMNS, WatcherRow

_LINK_KEY, _AFTER_LINK = b', "link": "', b'"}'


@dataclass(frozen=True, slots=True)
class ReadRecord:
    """A record as read back."""

    rows: tuple[WatcherRow, ...]
    bad: int
    """Rows that make no sense, and lines of an old file that are torn or no rows."""


def read_record(path: Path) -> ReadRecord:
    """All of a record; an absent file is an empty record: no watcher ran.

    Raises BadInput when it cannot be read.
    """
    read = [*old_rows(path), *look_on_record(path, 0)]
    return ReadRecord(tuple(row for row in read if row is not None), read.count(None))


def old_rows(path: Path) -> Iterator[WatcherRow | None]:
    """What an older version wrote before a record, which nobody adds to; None for a bad line."""
    return _without_twins(_of_line(line) for line in _lines(path) if line)


def look_on_record(path: Path, after: int) -> list[WatcherRow | None]:
    """What came after the first `after` rows, without an old file's; None for one that makes no
    sense. Raises BadInput when it cannot be read."""
    try:
        _, found = read_rows(path, COLUMNS, after)
    except FileNotFoundError:
        return []
    except (sqlite3.Error, OSError) as fault:
        raise BadInput.in_file(
            path, found=f"a record that cannot be read ({fault})", allowed="a watcher's"
        ) from fault
    return [_row(dict(zip(COLUMNS, values, strict=True))) for values in found]


def verify_record(path: Path) -> Verified:
    """Whether a record is as it was written; an absent file is an empty record."""
    old = _verified_lines(path)
    try:
        now = verify_rows(path, COLUMNS)
    except FileNotFoundError:
        return old
    # One seal vouches for both.
    seal = link(old.seal, now.seal.encode()) if old.rows else now.seal
    faults = (*old.faults, *now.faults)
    return Verified(old.rows + now.rows, old.unlinked + now.unlinked, faults, seal)


def _row(values: dict[str, Any]) -> WatcherRow | None:
    try:
        if isinstance(values.get("data"), str):
            values["data"] = read_json(values["data"])
        row = WatcherRow(**{**values, "wall_trusted": bool(values["wall_trusted"])})
    except (ValueError, TypeError, LookupError):
        return None
    sound = isinstance(row.at_s, int | float) and isinstance(row.text, str)
    sound &= isinstance(row.data, dict)
    return row if sound and row.kind in ("said", "event") else None


def _lines(path: Path) -> list[bytes]:
    """Of the old file beside a record, if there is one."""
    old = path.with_suffix(".jsonl")
    return old.read_bytes().split(b"\n") if old.is_file() else []


def _of_line(line: bytes) -> WatcherRow | None:
    try:
        values = read_json(line)
    except ValueError:
        return None
    if not isinstance(values, dict):
        return None
    values.pop("link", None)
    return _row(values)


def _without_twins(rows: Iterable[WatcherRow | None]) -> Iterator[WatcherRow | None]:
    """A line whose sync to disk failed was written again: the same row twice is one row."""
    last = None
    for row in rows:
        if row is None or row != last:
            yield row
        last = row


def _verified_lines(path: Path) -> Verified:
    faults: list[str] = []
    last, before, rows, unlinked = BEGINNING, b"", 0, 0
    for number, line in enumerate(_lines(path), 1):
        if not line or line == before:  # written twice, because its sync had failed
            continue
        end = len(line) - len(_AFTER_LINK) - 64
        begin = end - len(_LINK_KEY)
        linked = begin > 0 and line[begin:end] == _LINK_KEY and line.endswith(_AFTER_LINK)
        told = line[end : end + 64].decode("ascii", "replace") if linked else None
        is_row = _of_line(line) is not None
        before = line
        rows += is_row
        if not is_row:
            faults.append(f"Line {number} of {path.stem}.jsonl is torn by a power cut, or altered.")
        elif told is None and rows == unlinked + 1 and "link" not in read_json(line):
            unlinked += 1
        elif told is None or told != link(last, line[:begin]):
            faults.append(
                f"Line {number} of {path.stem}.jsonl is altered, or lines before it are missing, "
                "altered or put elsewhere."
            )
        last = last if told is None else told
    return Verified(rows, unlinked, tuple(faults), "" if last == BEGINNING else last)
