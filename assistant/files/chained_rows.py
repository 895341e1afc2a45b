"""Rows in an SQLite file, each on disk before anybody acts on it, and chained by their hashes.

Each who writes during a case has such a file of its own: SQLite lets one write at a time, and a
process that was stopped in the middle of a transaction would keep the rows of all others waiting.
A file has three tables: `meta`, what is fixed from the beginning; `rows`; and `head`, how many rows
there are and the last one's link, without which rows might go at the end unseen.
"""

# ruff: noqa: S608 - the names in statements are our own

import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from assistant.chain import link, packed
from assistant.files.rows_read_back import PATIENCE_S, first_link

_HEAD = """CREATE TABLE head (
  place INTEGER PRIMARY KEY CHECK (place = 1),
  rows INTEGER NOT NULL,
  link TEXT NOT NULL
)"""
_HEAD_IN_USE = """SELECT
  max(CAST(rows AS INTEGER), (SELECT ifnull(max(seq), 0) FROM rows)), CAST(link AS TEXT)
FROM head"""


class ChainedRows:
    """Appends rows to a file of its own, which is made with the first one.

    A disk that is full or gone stops nobody: the rows wait in memory, `fault` says why, and every
    later row, and every `write`, tries to bring them to disk. A file that went away meanwhile, as
    with a card that was pulled, is made anew.
    """

    def __init__(
        self, path: Path, columns: Mapping[str, str], meta: Mapping[str, str] | None = None
    ) -> None:
        """`columns` are those of a row by their names, each with its type in SQL; `meta` is what
        is fixed from the beginning, should the file not be there yet."""
        self.fault = ""
        """Why rows are not on disk; empty when all are."""
        self._path = path
        self._columns = columns
        self._meta = {} if meta is None else meta
        self._waiting: list[list[object]] = []
        self._base: sqlite3.Connection | None = None
        self._file: tuple[int, int] | None = None

    def add(self, values: Iterable[object]) -> None:
        """Write a row, and those that could not be written before it; never raises."""
        self._waiting.append([int(one) if isinstance(one, bool) else one for one in values])
        self.write()

    def write(self) -> None:
        """Write what waits, all of it or nothing."""
        if not self._waiting:
            return
        try:
            self._append(self.open())
        except (sqlite3.Error, OSError, OverflowError) as fault:
            self.fault = getattr(fault, "strerror", None) or str(fault)
            self._let_go()  # the next time it is opened anew: the card may be another one by then
        else:
            self._waiting.clear()
            self.fault = ""

    def open(self) -> sqlite3.Connection:
        """The file, opened if it is not. Raises sqlite3.Error or OSError."""
        if self._base is not None and self._file == _identity(self._path):
            return self._base
        self._let_go()
        self._path.touch(mode=0o600)  # for its owner only, and so will be what SQLite lays beside
        base = sqlite3.connect(self._path, isolation_level=None, timeout=PATIENCE_S)
        try:
            # A writer in WAL mode never waits for a reader; FULL makes each commit reach the disk.
            base.execute("PRAGMA journal_mode=WAL")
            base.execute("PRAGMA synchronous=FULL")
            base.execute("BEGIN IMMEDIATE")
            self._make_tables(base)
            base.execute("COMMIT")
        except sqlite3.Error:
            base.close()
            raise
        self._base, self._file = base, _identity(self._path)
        return base

    def move(self, path: Path) -> None:
        """From now on write to this file, a copy that somebody has made; so is what waits."""
        self._let_go()
        self._path = path

    def close(self) -> None:
        """Write what waits and fold the write-ahead log in, so that the one file can be read from
        anywhere; a further row opens it again."""
        self.write()
        if self._base is not None:
            with suppress(sqlite3.Error):  # somebody is reading it; the log stays beside it
                self._base.execute("PRAGMA journal_mode=DELETE")
        self._let_go()

    def _let_go(self) -> None:
        if self._base is not None:
            with suppress(sqlite3.Error):  # a disk that went away
                self._base.close()
            self._base = None

    def _make_tables(self, base: sqlite3.Connection) -> None:
        there = {row[1] for row in base.execute("PRAGMA table_info(rows)")}
        if not there:
            columns = ", ".join(f"{name} {kind}" for name, kind in self._columns.items())
            base.execute("CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL)")
            base.execute(f"CREATE TABLE rows (seq INTEGER PRIMARY KEY, {columns}, link TEXT)")
            base.execute(_HEAD)
            base.executemany("INSERT INTO meta VALUES (?, ?)", self._meta.items())
        elif "link" not in there:  # of before there were links: its further rows are chained
            base.execute("ALTER TABLE rows ADD COLUMN link TEXT")
            base.execute(_HEAD)

    def _append(self, base: sqlite3.Connection) -> None:
        base.execute("BEGIN IMMEDIATE")
        # Asked each time: another process may have written since. Whatever stands there, it is
        # gone on with: a head that was altered shows when the rows are verified.
        seq, last = base.execute(_HEAD_IN_USE).fetchone() or (
            base.execute("SELECT ifnull(max(seq), 0) FROM rows").fetchone()[0],
            first_link(base),
        )
        for values in self._waiting:
            seq += 1
            last = link(last, packed((seq, *values)))
            places = ", ".join("?" * (len(values) + 2))
            base.execute(f"INSERT INTO rows VALUES ({places})", (seq, *values, last))
        base.execute("INSERT OR REPLACE INTO head VALUES (1, ?, ?)", (seq, last))
        base.execute("COMMIT")


def _identity(path: Path) -> tuple[int, int] | None:
    """Which file is there, if one is: another one of that name is not the same."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
