"""Whether the watcher's file of a case is as it was written."""

import json
from pathlib import Path

from assistant.chain import BEGINNING, Verified, link
from assistant.oximeter.record import read_row, split_link


def verify_record(path: Path) -> Verified:
    """Go along the links of a record; an absent file is an empty record. Raises OSError."""
    try:
        lines = path.read_bytes().split(b"\n")
    except FileNotFoundError:
        return Verified(0, 0, (), "")
    faults: list[str] = []
    last, before, rows, unlinked = BEGINNING, b"", 0, 0
    for number, line in enumerate(lines, 1):
        if not line or line == before:  # written twice, because its sync had failed
            continue
        found, is_row = split_link(line), read_row(line) is not None
        before = line
        rows += is_row
        if not is_row:
            faults.append(f"Line {number} of {path.name} is torn by a power cut, or altered.")
        elif found is None and rows == unlinked + 1 and "link" not in json.loads(line):
            unlinked += 1
        elif found is None or found[1] != link(last, found[0]):
            faults.append(
                f"Line {number} of {path.name} is altered, or lines before it are missing, "
                "altered or put elsewhere."
            )
        last = last if found is None else found[1]
    return Verified(rows, unlinked, tuple(faults), "" if last == BEGINNING else last)
