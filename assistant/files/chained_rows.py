"""Rows in an SQLite file, each on disk before anybody acts on it, and chained by their hashes.

Each who writes during a case has such a file of its own: SQLite lets one write at a time, and a
process that was stopped in the middle of a transaction would keep the rows of all others waiting.
A file has three tables: `meta`, what is fixed from the beginning; `rows`; and `head`, how many rows
there are and the last one's link, without which rows might go at the end unseen.
"""

# ruff: noqa: S608 - the names in statements are our own

import shutil
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from assistant.chain import BEGINNING, Verified, link, packed

PATIENCE_S = 1.0
"""So long a lock of somebody else's is waited for."""
EMPTY_BYTES = 4096
"""A file that a power cut left before its first row has no more than this, a page."""
_PASSING = (sqlite3.SQLITE_FULL, sqlite3.SQLITE_BUSY)
"""No room, or a lock of somebody else's: the file itself is in order."""
_ALL_META = "SELECT key, value FROM meta"
"""From the table itself and not by its index, so that all who read see the same."""
_HEAD = """CREATE TABLE head (
  place INTEGER PRIMARY KEY CHECK (place = 1),
  rows INTEGER NOT NULL,
  link TEXT NOT NULL
)"""


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
        except (sqlite3.Error, OSError) as fault:
            self.fault = getattr(fault, "strerror", None) or str(fault)
            passing = getattr(fault, "sqlite_errorcode", 0) & 0xFF in _PASSING
            if self._base is not None and passing:
                self._base.rollback()
            else:  # the next time it is opened anew: the card may be another one by then
                self._let_go()
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
        # Asked each time: another process may have written since.
        seq, last = base.execute("SELECT rows, link FROM head").fetchone() or (
            base.execute("SELECT ifnull(max(seq), 0) FROM rows").fetchone()[0],
            _first_link(base),
        )
        for values in self._waiting:
            seq += 1
            last = link(last, packed((seq, *values)))
            places = ", ".join("?" * (len(values) + 2))
            base.execute(f"INSERT INTO rows VALUES ({places})", (seq, *values, last))
        base.execute("INSERT OR REPLACE INTO head VALUES (1, ?, ?)", (seq, last))
        base.execute("COMMIT")


def read_rows(
    path: Path, columns: Iterable[str], after: int = 0
) -> tuple[dict[str, str], list[tuple[object, ...]]]:
    """What is fixed, and the values of the rows after the first `after`.

    Somebody else may be writing them, or was killed while writing: nothing is changed, and nobody
    waits. Raises FileNotFoundError when nothing was ever written there, and sqlite3.Error or
    OSError when it cannot be read.
    """
    with _looked_into(path) as base:
        query = f"SELECT {', '.join(columns)} FROM rows WHERE seq > ? ORDER BY seq"
        return dict(base.execute(_ALL_META)), base.execute(query, (after,)).fetchall()


def verify_rows(path: Path, columns: Iterable[str]) -> Verified:
    """Whether a file is as it was written.

    Raises FileNotFoundError when nothing was ever written there.
    """
    try:
        with _looked_into(path) as base:
            return _verified(base, columns, path.name)
    except FileNotFoundError:
        raise
    except (sqlite3.Error, OSError, TypeError, ValueError) as fault:
        return Verified(0, 0, (f"{path.name} cannot be read ({fault}).",), "")


def copy_rows(path: Path, to: Path) -> None:
    """Copy a file of rows as it is at one moment, whoever may be writing it.

    Raises sqlite3.Error or OSError.
    """
    to.touch(mode=0o600)
    with _looked_into(path) as base, closing(sqlite3.connect(to)) as copy:
        base.backup(copy)


def _verified(base: sqlite3.Connection, columns: Iterable[str], name: str) -> Verified:
    if "link" not in {row[1] for row in base.execute("PRAGMA table_info(rows)")}:
        rows = int(base.execute("SELECT count(*) FROM rows").fetchone()[0])
        return Verified(rows, rows, (), "")
    walk = _Walk(_first_link(base), name)
    query = f"SELECT seq, {', '.join(columns)}, link FROM rows ORDER BY seq"
    # The base's own pages and indices first: what they lead to is what is read.
    (sound,) = base.execute("PRAGMA integrity_check(1)").fetchone()
    faults = [] if sound == "ok" else [f"{name} is damaged ({sound})."]
    faults += [told for row in base.execute(query) for told in walk.take(row)]
    head = base.execute("SELECT rows, link FROM head").fetchone()
    if head is None and walk.rows > walk.unlinked:
        faults.append(f"Which row of {name} is the last has been taken out.")
    elif head is not None and not faults and head != (walk.seq, walk.last):
        faults.append(f"Rows at the end of {name} are missing or altered: there were {head[0]}.")
    return Verified(walk.rows, walk.unlinked, tuple(faults), walk.last)


class _Walk:
    """Goes along the rows; after a fault it takes the next link as it stands."""

    def __init__(self, first: str, name: str) -> None:
        self.rows = self.unlinked = self.seq = 0
        self.last = first
        self._name = name

    def take(self, row: tuple[object, ...]) -> Iterator[str]:
        """What is wrong with the next row."""
        *values, told = row
        self.rows += 1
        seq = values[0] if isinstance(values[0], int) else -1
        if told is None and self.unlinked == self.rows - 1:
            self.unlinked += 1
        elif seq != self.seq + 1:
            yield f"Rows of {self._name} are missing or put elsewhere, from {self.seq} to {seq}."
        elif told != link(self.last, packed(values)):
            before = "what was before it" if seq > 1 else "what was fixed at the opening"
            yield f"Row {seq} of {self._name} is altered, or {before} is."
        self.seq = seq
        self.last = self.last if told is None else str(told)


def _first_link(base: sqlite3.Connection) -> str:
    """The link before the first row's: of what is fixed, as it is stored."""
    in_order = sorted(base.execute(_ALL_META), key=lambda one: str(one[0]))  # damaged: no text
    return link(BEGINNING, packed(in_order))


def _identity(path: Path) -> tuple[int, int] | None:
    """Which file is there, if one is: another one of that name is not the same."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


@contextmanager
def _looked_into(path: Path) -> Iterator[sqlite3.Connection]:
    """SQLite cannot read where it cannot write, as on a card that is write protected, what was not
    folded in yet: such a file is read from a copy."""
    if not path.exists():
        raise FileNotFoundError(path)
    try:
        base = _connected(path, "ro")
    except sqlite3.OperationalError:
        log = path.with_name(f"{path.name}-wal")
        with TemporaryDirectory() as folder:
            copy = Path(folder) / path.name
            shutil.copyfile(path, copy)
            if log.is_file():
                shutil.copyfile(log, copy.with_name(log.name))
            with closing(_connected(copy, "rw")) as base:
                yield base
        return
    with closing(base):
        yield base


def _connected(path: Path, mode: str) -> sqlite3.Connection:
    base = sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=PATIENCE_S)
    try:
        (tables,) = base.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if not tables and path.stat().st_size <= EMPTY_BYTES:
            raise FileNotFoundError(path)
    except (sqlite3.Error, OSError):
        base.close()
        raise
    return base
