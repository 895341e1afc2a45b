"""The record of one case: SQLite in the case's own folder, on disk before anybody acts on it."""

import json
import sqlite3
from collections.abc import Mapping
from contextlib import closing, suppress
from dataclasses import astuple, dataclass, fields
from pathlib import Path
from typing import Any

from assistant.clock import Clock, boot_id, read_wall
from assistant.errors import BadInput
from assistant.journal.rows import Kind, Row, Who

FILE_NAME = "journal.sqlite"

_TABLES = """
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE rows (
  seq INTEGER PRIMARY KEY,
  mono_s REAL NOT NULL,
  wall TEXT NOT NULL,
  wall_trusted INTEGER NOT NULL,
  who TEXT NOT NULL,
  kind TEXT NOT NULL,
  text TEXT NOT NULL,
  meaning TEXT,
  item TEXT,
  confidence REAL,
  data TEXT NOT NULL
);
"""


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
        self._waiting: list[Row] = []
        self.meta = read_case(folder)[0] if site is None else _new_meta(folder, clock, site)
        try:
            # A writer in WAL mode never waits for a reader; FULL makes each commit reach the disk.
            self._base = sqlite3.connect(folder / FILE_NAME, isolation_level=None, timeout=1.0)
            self._base.execute("PRAGMA journal_mode=WAL")
            self._base.execute("PRAGMA synchronous=FULL")
            if site is not None:
                self._base.executescript(f"BEGIN; {_TABLES} COMMIT;")
                pairs = [(key, json.dumps(getattr(self.meta, key))) for key in self.meta.__slots__]
                self._base.executemany("INSERT INTO meta VALUES (?, ?)", pairs)
        except sqlite3.Error as fault:
            raise BadInput.in_file(
                folder,
                found=f"a folder where no case can be recorded ({fault})",
                allowed="a folder that can be written, and that holds no other case",
            ) from fault

    @property
    def lost(self) -> bool:
        """Whether rows wait in memory because the disk does not take them."""
        return bool(self._waiting)

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
        at_s = self._clock.now_s() if mono_s is None else mono_s
        # Serialised first: what cannot be written must not wait among the rows that can.
        values = json.loads(json.dumps(dict(data or {}), default=float))
        sure = None if confidence is None else float(confidence)
        row = Row(at_s, wall.at, wall.trusted, who, kind, text, meaning, item, sure, values)
        self._waiting.append(row)
        try:
            self._base.execute("BEGIN IMMEDIATE")
            self._base.executemany(
                "INSERT INTO rows VALUES (NULL, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                [(*astuple(one)[:-1], json.dumps(dict(one.data))) for one in self._waiting],
            )
            self._base.execute("COMMIT")
            self._waiting.clear()
        except sqlite3.Error:
            if self._base.in_transaction:
                self._base.execute("ROLLBACK")
        return row

    def close(self) -> None:
        """Fold the write-ahead log into the file, so that it can be read from anywhere."""
        with suppress(sqlite3.Error):  # somebody is reading it; the log stays beside it
            self._base.execute("PRAGMA journal_mode=DELETE")
        self._base.close()


def read_case(folder: Path) -> tuple[CaseMeta, tuple[Row, ...]]:
    """All that is on disk of a case, also of one whose process was killed.

    Raises BadInput when the folder holds no case.
    """
    return _read(folder, after=0, look_on=False)


def look_on(folder: Path, after: int) -> tuple[CaseMeta, tuple[Row, ...]]:
    """What came after the first `after` rows of a case that somebody else may be writing.

    The record is opened to be read only, and not for longer than that takes. Raises as `read_case`.
    """
    return _read(folder, after=after, look_on=True)


def _read(folder: Path, *, after: int, look_on: bool) -> tuple[CaseMeta, tuple[Row, ...]]:
    path = folder / FILE_NAME
    if not path.is_file():
        raise BadInput.in_file(folder, found="no case", allowed="a folder that rehearse has made")
    try:
        how = f"{path.absolute().as_uri()}?mode={'ro' if look_on else 'rw'}"
        with closing(sqlite3.connect(how, uri=True, timeout=1.0)) as base:
            meta = {key: json.loads(value) for key, value in base.execute("SELECT * FROM meta")}
            names = [field.name for field in fields(Row)]
            query = f"SELECT {', '.join(names)} FROM rows WHERE seq > ? ORDER BY seq"  # noqa: S608 - our own names
            found = base.execute(query, (after,)).fetchall()
        rows = [_row(dict(zip(names, one, strict=True))) for one in found]
        return CaseMeta(**meta), tuple(rows)
    except (sqlite3.Error, TypeError, ValueError) as fault:
        raise BadInput.in_file(
            path, found=f"a record that cannot be read ({fault})", allowed="a case's record"
        ) from fault


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
    )


def _row(columns: dict[str, Any]) -> Row:
    columns["wall_trusted"] = bool(columns["wall_trusted"])
    columns["data"] = json.loads(columns["data"])
    return Row(**columns)
