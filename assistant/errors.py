"""What the assistant refuses, said in one clear sentence."""

from collections.abc import Iterable
from pathlib import Path
from typing import Self


class BadInput(Exception):  # noqa: N818 - the trade says "bad input", and so does the command line
    """Something a person gave cannot be used; the text is one sentence for that person.

    The command line prints it and ends with exit code 2. Where several things are wrong, each has a
    sentence and a line of its own.
    """

    @classmethod
    def all_of(cls, faults: Iterable["BadInput"]) -> Self:
        """All of several at once, in their order, each sentence once."""
        return cls("\n".join(dict.fromkeys(str(fault) for fault in faults)))

    @classmethod
    def in_file(
        cls,
        path: Path,
        *,
        found: str,
        allowed: str,
        line: int | None = None,
        key: str | None = None,
    ) -> Self:
        """Name the file, line (from 1) and key, what was found there and what is allowed."""
        where = f"{path}" if line is None else f"{path}, line {line}"
        which = "" if key is None else f", key {key}"
        return cls(f"{where}{which}: found {found}; allowed: {allowed}.")
