"""Rows chained by their hashes: whether any was altered, dropped or put elsewhere shows.

Each row's link is a hash of the row and of the link before it. It is no signature: whoever rewrites
all of a record can make its links anew. The last link, written down elsewhere, would show that too.
"""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass

BEGINNING = "0" * 64
"""Stands for the link before the first one."""


def link(before: str, content: bytes) -> str:
    """The link of that content after that link: 64 hexadecimal digits (SHA-256, FIPS 180-4)."""
    return hashlib.sha256(before.encode() + b"\n" + content).hexdigest()


def packed(values: Sequence[object]) -> bytes:
    """Values of one row as bytes, in one way only."""
    return json.dumps(values, ensure_ascii=False, separators=(",", ":")).encode()


@dataclass(frozen=True, slots=True)
class Verified:
    """Whether a record is as it was written."""

    rows: int
    unlinked: int
    """Rows from before rows were chained: nothing tells whether they are as they were."""
    faults: tuple[str, ...]
    """Whole sentences; none when the record is as it was written."""
    seal: str
    """The last link; written down elsewhere, it shows a record that was made anew."""
