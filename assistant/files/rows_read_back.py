"""Chained rows read back from their file, verified and copied, whoever may be writing them."""

# ruff: noqa: S608 - the names in statements are our own

import shutil
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from assistant.chain import BEGINNING, Verified, link, packed
from assistant.files.named_files import in_place_of_a_file

PATIENCE_S = 1.0
"""So long a lock of somebody else's is waited for."""
EMPTY_BYTES = 4096
"""A file that a power cut left before its first row has no more than this, a page."""
ALL_META = "SELECT key, value FROM meta"
"""From the table itself and not by its index, so that all who read see the same."""


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
        return dict(base.execute(ALL_META)), base.execute(query, (after,)).fetchall()


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
    # The base's own pages and indices first: what they lead to is what is read.
    (sound,) = base.execute("PRAGMA integrity_check(1)").fetchone()
    faults = [] if sound == "ok" else [f"{name} is damaged ({sound})."]
    seq, last, rows, unlinked = 0, first_link(base), 0, 0
    query = f"SELECT link, seq, {', '.join(columns)} FROM rows ORDER BY seq"
    for told, *values in base.execute(query):
        before, seq = seq, values[0] if isinstance(values[0], int) else -1
        if told is None and unlinked == rows:
            unlinked += 1
        elif seq != before + 1:
            faults.append(f"Rows of {name} are missing or put elsewhere, from {before} to {seq}.")
        elif told != link(last, packed(values)):
            earlier = "what was before it" if seq > 1 else "what was fixed at the opening"
            faults.append(f"Row {seq} of {name} is altered, or {earlier} is.")
        rows += 1
        last = last if told is None else str(told)  # after a fault as it stands
    head = base.execute("SELECT rows, link FROM head").fetchone()
    if head is None and rows > unlinked:
        faults.append(f"Which row of {name} is the last has been taken out.")
    elif head is not None and not faults and head != (seq, last):
        faults.append(f"Rows at the end of {name} are missing or altered: there were {head[0]}.")
    return Verified(rows, unlinked, tuple(faults), last)


def first_link(base: sqlite3.Connection) -> str:
    """The link before the first row's: of what is fixed, as it is stored."""
    in_order = sorted(base.execute(ALL_META), key=lambda one: str(one[0]))  # damaged: no text
    return link(BEGINNING, packed(in_order))


@contextmanager
def _looked_into(path: Path) -> Iterator[sqlite3.Connection]:
    """SQLite cannot read where it cannot write, as on a card that is write protected, what was not
    folded in yet: such a file is read from a copy."""
    if not path.exists():
        raise FileNotFoundError(path)
    instead = in_place_of_a_file(path)
    if instead is not None:  # a pipe would be waited for
        raise OSError(f"{instead} in its place")
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
