"""The record of one case: SQLite in the case's own folder, on disk before anybody acts on it."""

import errno
import json
import math
import sqlite3
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from importlib.metadata import version
from operator import attrgetter
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter

from assistant.chain import Verified
from assistant.clock import Clock, boot_id, read_wall
from assistant.errors import BadInput
from assistant.files.chained_rows import ChainedRows
from assistant.files.plain_json import read_json
from assistant.files.rows_read_back import read_rows, verify_rows
from assistant.journal.folder import KEPT_SITE, hashes
from assistant.journal.rows import Kind, Row, Who

FILE_NAME = "journal.sqlite"

COLUMNS = {
    "mono_s": "REAL NOT NULL",
    "wall": "TEXT NOT NULL",
    "wall_trusted": "INTEGER NOT NULL",
    "who": "TEXT NOT NULL",
    "kind": "TEXT NOT NULL",
    "text": "TEXT NOT NULL",
    "meaning": "TEXT",
    "item": "TEXT",
    "confidence": "REAL",
    "data": "TEXT NOT NULL",
}
"""Of a row; its data are JSON."""
_PLAIN = attrgetter(*list(COLUMNS)[:-1])
"""What a row has of them as it is stored."""


@dataclass(frozen=True, slots=True)
class CaseMeta:
    """What is fixed when a case is opened."""

    case: str
    site: str
    clock: str
    """`monotonic` or `sound`."""
    boot: str
    """Monotonic times compare only within one boot."""
    started_mono_s: float
    started_wall: str
    started_wall_trusted: bool
    software: str = "unknown"
    """The version of this program."""
    site_files: Mapping[str, str] = field(default_factory=dict)
    """The site's files that are kept with the case, by name, each with its hash (SHA-256)."""


_META: Final = TypeAdapter(CaseMeta)
_ROW: Final = TypeAdapter(Row)
UNREADABLE = "unreadable"
"""The name of the event that stands in place of a damaged row."""
_LONGEST_S = 1e10
"""Three hundred years: no machine runs for so long."""


class Journal:
    """Writes a case's rows.

    A disk that is full or gone never stops the conversation: the rows wait in memory, `lost` says
    so, and every later row tries to bring them to disk.
    """

    def __init__(self, folder: Path, clock: Clock, site: str | None) -> None:
        """Open a new case of a site in a folder that holds none; with None go on with its case.

        Raises BadInput when the folder cannot be written, or does not hold what is asked for.
        """
        self._clock = clock
        self.meta = read_meta(folder) if site is None else _new_meta(folder, clock, site)
        meta = {key: json.dumps(getattr(self.meta, key)) for key in self.meta.__slots__}
        self._rows = ChainedRows(folder / FILE_NAME, COLUMNS, meta)
        try:
            if site is not None and (folder / FILE_NAME).exists():
                raise FileExistsError(errno.EEXIST, "there is one")
            self._rows.open()
        except (sqlite3.Error, OSError) as fault:
            raise BadInput.in_file(
                folder,
                found=f"a folder where no case can be recorded ({fault})",
                allowed="a folder that can be written, and that holds no other case",
            ) from fault

    @property
    def lost(self) -> bool:
        """Whether rows wait in memory because the disk does not take them."""
        return bool(self._rows.fault)

    def append(
        self,
        who: Who,
        kind: Kind,
        text: str,
        *,
        meaning: str | None = None,
        item: str | None = None,
        confidence: float | None = None,
        data: Mapping[str, Any] | None = None,
        mono_s: float | None = None,
    ) -> Row:
        """Record one row; when this returns it is on disk, or `lost` is true."""
        wall = read_wall()
        at_s = float(self._clock.now_s() if mono_s is None else mono_s)
        # Serialised first: what cannot be written must not wait among the rows that can.
        kept = json.loads(json.dumps(dict(data or {}), default=float))
        sure = None if confidence is None or math.isnan(confidence) else float(confidence)
        row = Row(at_s, wall.at, wall.trusted, who, kind, text, meaning, item, sure, kept)
        self._rows.add((*_PLAIN(row), json.dumps(kept)))
        return row

    def move(self, folder: Path) -> None:
        """Go on in a copy of the case: there the disk takes what it did not take here."""
        self._rows.move(folder / FILE_NAME)
        self._rows.write()

    def close(self) -> None:
        """Fold the write-ahead log into the file, so that it can be read from anywhere."""
        self._rows.close()


def verify_journal(folder: Path) -> Verified:
    """Whether the conversation's record is as it was written. Raises BadInput without one."""
    try:
        return verify_rows(folder / FILE_NAME, COLUMNS)
    except FileNotFoundError as fault:
        raise _no_case(folder) from fault


def read_case(folder: Path) -> tuple[CaseMeta, tuple[Row, ...]]:
    """All that is on disk of a case, also of one whose process was killed.

    Raises BadInput when the folder holds no case.
    """
    return look_on(folder, 0)


def read_meta(folder: Path) -> CaseMeta:
    """What was fixed at the opening, without reading the rows of which there may be thousands.

    Raises as `read_case`.
    """
    return look_on(folder, sys.maxsize)[0]


def look_on(folder: Path, after: int) -> tuple[CaseMeta, tuple[Row, ...]]:
    """What came after the first `after` rows of a case that somebody else may be writing.

    The record is opened to be read only, and not for longer than that takes. Raises as `read_case`.
    """
    path = folder / FILE_NAME
    try:
        fixed, found = read_rows(path, COLUMNS, after)
        meta = meta_of(fixed)
        return meta, tuple(readable(found, meta))
    except FileNotFoundError as fault:
        raise _no_case(folder) from fault
    except (sqlite3.Error, OSError, TypeError, ValueError) as fault:
        raise BadInput.in_file(
            path, found=f"a record that cannot be read ({fault})", allowed="a case's record"
        ) from fault


def _no_case(folder: Path) -> BadInput:
    return BadInput.in_file(folder, found="no case", allowed="a case's folder")


def _new_meta(folder: Path, clock: Clock, site: str) -> CaseMeta:
    wall = read_wall()
    return CaseMeta(
        case=folder.name,
        site=site,
        clock=clock.name,
        boot=boot_id(),
        started_mono_s=clock.now_s(),
        started_wall=wall.at,
        started_wall_trusted=wall.trusted,
        software=version("spoken-brief"),
        site_files=hashes(folder / KEPT_SITE),
    )


def meta_of(fixed: Mapping[str, str]) -> CaseMeta:
    """What was fixed, from how it is stored. Raises ValueError or TypeError where it is damaged."""
    meta = _META.validate_python({key: read_json(value) for key, value in fixed.items()})
    _check_wall(meta.started_wall)
    return meta


def readable(found: Iterable[Sequence[Any]], meta: CaseMeta) -> Iterator[Row]:
    """The rows; in place of a damaged one an event that no program knows, which whoever reads the
    case leaves out and tells of."""
    before_s, before = meta.started_mono_s, meta.started_wall
    for one in found:
        try:
            row = _row(dict(zip(COLUMNS, one, strict=True)))
        except (TypeError, ValueError):
            text, data = "a row that cannot be read", {"event": UNREADABLE}
            row = Row(before_s, before, False, "assistant", "event", text, data=data)
        before_s, before = row.mono_s, row.wall
        yield row


def _row(columns: dict[str, Any]) -> Row:
    """Raises ValueError where a value is not of its kind."""
    columns["wall_trusted"] = bool(columns["wall_trusted"])
    columns["data"] = read_json(columns["data"])
    row = _ROW.validate_python(columns)
    if not abs(row.mono_s) < _LONGEST_S:
        raise ValueError("a time that no clock shows")
    _check_wall(row.wall)
    return row


def _check_wall(wall: str) -> None:
    """Raises ValueError for what cannot be reckoned with."""
    if datetime.fromisoformat(wall).tzinfo is None:
        raise ValueError("a wall time of no zone")
