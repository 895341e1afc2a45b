"""What the assistant refuses, said in one clear sentence."""

from collections.abc import Iterable
from pathlib import Path
from typing import Self


class BadInput(Exception):  # noqa: N818 - the trade says "bad input", and so does the command line
    """Something a person gave cannot be used; the text is one sentence for that person.

    The command line prints it and ends with exit code 2. Where several things are wrong, each has a
    sentence and a line of its own.
    """

    file: Path | None = None
    """The one file that it is about, if it is about one."""

    @classmethod
    def all_of(cls, faults: Iterable["BadInput"]) -> Self:
        """All of several at once, file by file, else in their order, each sentence once."""
        every = list(faults)
        files = list(dict.fromkeys(fault.file for fault in every))
        in_order = sorted(every, key=lambda fault: files.index(fault.file))
        together = cls("\n".join(dict.fromkeys(str(fault) for fault in in_order)))
        together.file = files[0] if len(files) == 1 else None
        return together

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
        fault = cls(f"{where}{which}: found {found}; allowed: {allowed}.")
        fault.file = path
        return fault
