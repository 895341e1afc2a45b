"""Opening a record to read it, wherever it lies."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

PATIENCE_S = 1.0


@contextmanager
def opened(path: Path, *, look_on: bool) -> Iterator[sqlite3.Connection]:
    """The record in that file; with `look_on` nothing of it is changed, somebody may be writing it.

    SQLite cannot read what was not folded in yet where it cannot write, as on a card that is write
    protected: such a record is read from a copy. Raises sqlite3.Error.
    """
    try:
        base = _connected(path, "ro" if look_on else "rw")
    except sqlite3.OperationalError:
        log = path.with_name(f"{path.name}-wal")
        if not log.is_file():
            raise
        with TemporaryDirectory() as folder:
            copy = Path(folder) / path.name
            shutil.copyfile(path, copy)
            shutil.copyfile(log, copy.with_name(log.name))
            with closing(_connected(copy, "rw")) as base:
                yield base
        return
    with closing(base):
        yield base


def _connected(path: Path, mode: str) -> sqlite3.Connection:
    base = sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=PATIENCE_S)
    try:
        base.execute("SELECT count(*) FROM meta").fetchone()
    except sqlite3.Error:
        base.close()
        raise
    return base
