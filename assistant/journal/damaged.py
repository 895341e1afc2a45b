"""What can still be read of a case's record that is damaged, as by a card that is failing.

SQLite gives up at the first page that is wrong, and does not open a file that was cut off at all.
Each row has its number: asked for one by one, those on pages that are whole are still to be had.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

from assistant.errors import BadInput
from assistant.files.named_files import to_read
from assistant.files.rows_read_back import ALL_META, PATIENCE_S
from assistant.journal.journal import (
    COLUMNS,
    FILE_NAME,
    UNREADABLE,
    CaseMeta,
    meta_of,
    readable,
)
from assistant.journal.rows import Row

_SMALLEST_ROW_BYTES = 32
"""No row takes less: more than that cannot be in a file, whatever it tells."""


@dataclass(frozen=True, slots=True)
class Salvaged:
    """What is left of a case's record."""

    meta: CaseMeta
    rows: tuple[Row, ...]
    """Those that can be read, in their order."""
    written: int
    """How many there were; of a record that does not tell, up to the last one that is left."""


def salvage_case(folder: Path) -> Salvaged:
    """Read what can be read of a damaged record; nothing is changed.

    Raises BadInput when not even what was fixed at the opening can be read.
    """
    path = to_read(folder / FILE_NAME, "a case's record")
    try:
        uri = f"{path.absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(uri, uri=True, timeout=PATIENCE_S)) as base:
            # Without it a file that is shorter than it tells is not read at all.
            base.execute("PRAGMA writable_schema = ON")
            meta = meta_of(dict(base.execute(ALL_META)))
            written = _written(base)
            most = path.stat().st_size // _SMALLEST_ROW_BYTES
            found = dict(_one_by_one(base, most if written is None else min(most, written)))
    except (sqlite3.Error, OSError, TypeError, ValueError) as fault:
        raise BadInput.in_file(
            path, found=f"a record that cannot be read ({fault})", allowed="a case's record"
        ) from fault
    last = max(found, default=0) if written is None else written
    rows = readable(found.values(), meta)
    return Salvaged(meta, tuple(one for one in rows if one.data.get("event") != UNREADABLE), last)


def _written(base: sqlite3.Connection) -> int | None:
    with suppress(sqlite3.Error, TypeError, ValueError):
        return int(base.execute("SELECT rows FROM head").fetchone()[0])
    return None


def _one_by_one(base: sqlite3.Connection, most: int) -> Iterator[tuple[int, tuple[object, ...]]]:
    query = f"SELECT {', '.join(COLUMNS)} FROM rows WHERE seq = ?"  # noqa: S608 - our own names
    for seq in range(1, most + 1):
        with suppress(sqlite3.Error):
            row = base.execute(query, (seq,)).fetchone()
            if row is not None:
                yield seq, row
