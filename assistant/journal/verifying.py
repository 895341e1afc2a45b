"""Whether a case's record is as it was written: no row altered, dropped or put elsewhere."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

from assistant.chain import Verified, link, packed
from assistant.errors import BadInput
from assistant.journal.journal import ALL_META, COLUMNS, FILE_NAME, first_link
from assistant.journal.opening import opened


def verify_journal(folder: Path) -> Verified:
    """Verify the conversation's record. Raises BadInput when there is none to be read."""
    path = folder / FILE_NAME
    if not path.is_file():
        raise BadInput.in_file(folder, found="no case", allowed="a folder that rehearse has made")
    try:
        with opened(path, look_on=True) as base:
            return _verified(base)
    except (sqlite3.Error, OSError, TypeError, ValueError) as fault:
        fault_told = f"The record cannot be read ({fault})."
        return Verified(0, 0, (fault_told,), "")


def _verified(base: sqlite3.Connection) -> Verified:
    if "link" not in {row[1] for row in base.execute("PRAGMA table_info(rows)")}:
        rows = int(base.execute("SELECT count(*) FROM rows").fetchone()[0])
        return Verified(rows, rows, (), "")
    walk = _Walk(first_link(dict(base.execute(ALL_META))))
    query = f"SELECT {', '.join(COLUMNS)}, link FROM rows ORDER BY seq"  # noqa: S608 - our own names
    # The base's own pages and indices first: what they lead to is what is read.
    (sound,) = base.execute("PRAGMA integrity_check(1)").fetchone()
    faults = [] if sound == "ok" else [f"The record's file is damaged ({sound})."]
    faults += [told for row in base.execute(query) for told in walk.take(row)]
    head = base.execute("SELECT rows, link FROM head").fetchone()
    if head is None and walk.rows > walk.unlinked:
        faults.append("What the last row is has been taken out.")
    elif head is not None and not faults and head != (walk.seq, walk.last):
        faults.append(f"Rows at the end are missing or altered: there were {head[0]}.")
    return Verified(walk.rows, walk.unlinked, tuple(faults), walk.last)


class _Walk:
    """Goes along the rows; after a fault it takes the next link as it stands."""

    def __init__(self, first: str) -> None:
        self.rows = self.unlinked = self.seq = 0
        self.last = first

    def take(self, row: tuple[object, ...]) -> Iterator[str]:
        """What is wrong with the next row."""
        *values, told = row
        self.rows += 1
        seq = values[0] if isinstance(values[0], int) else -1
        if told is None and self.unlinked == self.rows - 1:
            self.unlinked += 1
        elif seq != self.seq + 1:
            yield f"Rows are missing, or put elsewhere, between row {self.seq} and row {seq}."
        elif told != link(self.last, packed(values)):
            yield (
                f"Row {seq} is altered, or what was before it is."
                if seq > 1
                else "Row 1 is altered, or when and where the case was opened is."
            )
        self.seq = seq
        self.last = self.last if told is None else str(told)
