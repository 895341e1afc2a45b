"""Which case is at hand: a link beside the cases, which listener and watcher both follow."""

import os
from pathlib import Path

from assistant.journal.journal import read_case

CURRENT = "current"
IDLE = "idle"
"""The folder that stands in for a case while there is none: the watcher's record goes there."""


def case_at_hand(cases: Path) -> Path | None:
    """The folder of the case that is open, if one is."""
    folder = cases / CURRENT
    return folder.resolve() if folder.is_dir() else None


def folder_at_hand(cases: Path) -> Path:
    """The same, or the folder that stands in for a case; made when it is not there."""
    at_hand = case_at_hand(cases)
    if at_hand is None:
        at_hand = cases / IDLE
        at_hand.mkdir(mode=0o700, parents=True, exist_ok=True)
    return at_hand


def take_in_hand(cases: Path, folder: Path) -> None:
    """From now on this is the case at hand; the link is never missing in between."""
    beside = cases / f".{CURRENT}-{os.getpid()}"
    beside.unlink(missing_ok=True)
    beside.symlink_to(folder.name, target_is_directory=True)
    beside.replace(cases / CURRENT)


def lay_down(cases: Path) -> None:
    """No case is at hand."""
    (cases / CURRENT).unlink(missing_ok=True)


def unfinished_case(cases: Path) -> Path | None:
    """The case that a listener was in when it was stopped or killed."""
    folder = case_at_hand(cases)
    if folder is None:
        return None
    _, rows = read_case(folder)
    return None if any(row.data.get("event") == "ended" for row in rows) else folder
