"""The record of one case: SQLite in the case's own folder, on disk before anybody acts on it."""

import json
import math
import sqlite3
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, fields
from importlib.metadata import version
from operator import attrgetter
from pathlib import Path
from typing import Any

from assistant.chain import BEGINNING, link, packed
from assistant.clock import Clock, boot_id, read_wall
from assistant.errors import BadInput
from assistant.journal.folder import KEPT_SITE, hashes
from assistant.journal.opening import opened
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
  data TEXT NOT NULL,
  link TEXT
);
"""
_HEAD = """
CREATE TABLE head (
  place INTEGER PRIMARY KEY CHECK (place = 1),
  rows INTEGER NOT NULL,
  link TEXT NOT NULL
);
"""
"""How many rows there are and the last one's link: without it, rows might go at the end unseen."""
ALL_META = "SELECT key, value FROM meta"
"""From the table itself and not by its index, so that all who read see the same."""
COLUMNS = (
    *("seq", "mono_s", "wall", "wall_trusted", "who", "kind", "text", "meaning", "item"),
    *("confidence", "data"),
)
"""Of a row, what its link is made from."""
_PLAIN = attrgetter(*COLUMNS[1:-1])
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
            # For its owner only, and so will be what SQLite lays beside it.
            (folder / FILE_NAME).touch(mode=0o600)
            # A writer in WAL mode never waits for a reader; FULL makes each commit reach the disk.
            self._base = sqlite3.connect(folder / FILE_NAME, isolation_level=None, timeout=1.0)
            self._base.execute("PRAGMA journal_mode=WAL")
            self._base.execute("PRAGMA synchronous=FULL")
            if site is not None:
                self._base.executescript(f"BEGIN; {_TABLES} {_HEAD} COMMIT;")
                pairs = [(key, json.dumps(getattr(self.meta, key))) for key in self.meta.__slots__]
                self._base.executemany("INSERT INTO meta VALUES (?, ?)", pairs)
            self._seq, self._link = _end_of_chain(self._base)
        except (sqlite3.Error, OSError) as fault:
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
        at_s = float(self._clock.now_s() if mono_s is None else mono_s)
        # Serialised first: what cannot be written must not wait among the rows that can.
        kept = json.loads(json.dumps(dict(data or {}), default=float))
        sure = None if confidence is None or math.isnan(confidence) else float(confidence)
        row = Row(at_s, wall.at, wall.trusted, who, kind, text, meaning, item, sure, kept)
        self._waiting.append(row)
        try:
            self._base.execute("BEGIN IMMEDIATE")
            seq, last = self._seq, self._link
            for one in self._waiting:
                seq += 1
                values = (seq, *_PLAIN(one), json.dumps(dict(one.data)))
                last = link(last, packed([int(v) if isinstance(v, bool) else v for v in values]))
                places = ", ".join("?" * (len(values) + 1))
                self._base.execute(f"INSERT INTO rows VALUES ({places})", (*values, last))  # noqa: S608 - question marks
            self._base.execute("INSERT OR REPLACE INTO head VALUES (1, ?, ?)", (seq, last))
            self._base.execute("COMMIT")
            self._seq, self._link = seq, last
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


def _end_of_chain(base: sqlite3.Connection) -> tuple[int, str]:
    """The number of the last row and its link; a record from before there were links gets room for
    them, and its further rows are chained from its beginning."""
    if "link" not in {row[1] for row in base.execute("PRAGMA table_info(rows)")}:
        base.executescript(f"BEGIN; ALTER TABLE rows ADD COLUMN link TEXT; {_HEAD} COMMIT;")
    last = base.execute("SELECT seq, link FROM rows ORDER BY seq DESC LIMIT 1").fetchone()
    if last is not None and last[1] is not None:
        return int(last[0]), str(last[1])
    meta = dict(base.execute(ALL_META))
    return (0 if last is None else int(last[0])), first_link(meta)


def first_link(meta: Mapping[str, str]) -> str:
    """The link before the first row's: of what is fixed when a case is opened, as it is stored."""
    in_order = sorted(meta.items(), key=lambda one: str(one[0]))  # a damaged key may be no text
    return link(BEGINNING, packed(in_order))


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
        with opened(path, look_on=look_on) as base:
            meta = {key: json.loads(value) for key, value in base.execute(ALL_META)}
            names = [field.name for field in fields(Row)]
            query = f"SELECT {', '.join(names)} FROM rows WHERE seq > ? ORDER BY seq"  # noqa: S608 - our own names
            found = base.execute(query, (after,)).fetchall()
        rows = [_row(dict(zip(names, one, strict=True))) for one in found]
        return CaseMeta(**meta), tuple(rows)
    except (sqlite3.Error, OSError, TypeError, ValueError) as fault:
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
        software=version("spoken-brief"),
        site_files=hashes(folder / KEPT_SITE),
    )


def _row(columns: dict[str, Any]) -> Row:
    columns["wall_trusted"] = bool(columns["wall_trusted"])
    columns["data"] = json.loads(columns["data"])
    return Row(**columns)
