"""Which case is at hand: a link beside the cases, which listener and watcher both follow.

Where the disk takes no record, a folder in the machine's memory stands in for that of the cases. It
has a link of its own then, and that is the one that counts.
"""

import hashlib
import os
import stat
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from functools import cache
from pathlib import Path

from assistant.errors import BadInput
from assistant.journal.damaged import salvage_case
from assistant.journal.journal import read_case
from assistant.journal.rows import Row

CURRENT = "current"
IDLE = "idle"
"""The folder that stands in for a case while there is none: the watcher's record goes there."""
SERVICES = Path("/run/spoken-brief")
"""What systemd makes for the services, and keeps when one of them stops."""
SHARED_MEMORY = Path("/dev/shm")  # noqa: S108 - a folder for its owner only is made in it


@cache  # the watcher asks many times a second
def memory_of(cases: Path) -> Path:
    """The folder in memory that stands in for this one of cases, for all processes of one user.

    It need not be there. None of it outlives the machine's being switched off.
    """
    user = os.geteuid()
    which = hashlib.sha256(os.fsencode(cases.resolve())).hexdigest()[:16]
    named = os.environ.get("XDG_RUNTIME_DIR")
    places = [SERVICES, *([Path(named)] if named else [])]
    own = [one for one in places if one.is_dir() and one.stat().st_uid == user]
    shared = SHARED_MEMORY if SHARED_MEMORY.is_dir() else Path(tempfile.gettempdir())
    return (own or [shared])[0].resolve() / f"spoken-brief-cases-{user}-{which}"


def made_memory(cases: Path) -> Path:
    """The same, made if it is not there. Raises OSError, also for one that is somebody else's."""
    memory = memory_of(cases)
    memory.mkdir(mode=0o700, exist_ok=True)
    if not _is_own(memory):
        raise PermissionError(1, "somebody else's folder", str(memory))
    return memory


def case_at_hand(cases: Path) -> Path | None:
    """The folder of the case that is open, if one is, on the disk or in memory."""
    folder = _in_use(cases) / CURRENT
    at_hand = folder.resolve()
    return at_hand if folder.is_dir() and at_hand.name != IDLE else None


def idle_folder(cases: Path) -> Path:
    """The folder that stands in for a case; perhaps it is not there."""
    return _in_use(cases) / IDLE


def folder_at_hand(cases: Path) -> Path:
    """The case at hand, or the folder that stands in for one; made when it is not there, in memory
    where the disk takes none. Raises OSError when there is room for it nowhere."""
    at_hand = case_at_hand(cases) or idle_folder(cases)
    try:
        at_hand.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError:
        at_hand = made_memory(cases) / IDLE
        at_hand.mkdir(mode=0o700, exist_ok=True)
    return at_hand


def take_in_hand(cases: Path, folder: Path) -> None:
    """From now on this is the case at hand; the link is never missing in between.

    It lies among the cases, or in memory. Raises OSError.
    """
    place = folder.parent
    beside = place / f".{CURRENT}-{os.getpid()}"
    beside.unlink(missing_ok=True)
    beside.symlink_to(folder.name, target_is_directory=True)
    beside.replace(place / CURRENT)
    memory = memory_of(cases)
    if place != memory:
        (memory / CURRENT).unlink(missing_ok=True)


def lay_down(cases: Path) -> None:
    """No case is at hand. Raises OSError."""
    (memory_of(cases) / CURRENT).unlink(missing_ok=True)
    (cases / CURRENT).unlink(missing_ok=True)


def unfinished_case(cases: Path) -> Path | None:
    """The case that a listener was in when it was stopped or killed.

    Raises BadInput when its record cannot be read, and what is left of it does not tell that the
    case was ended.
    """
    folder = case_at_hand(cases)
    if folder is None:
        return None
    try:
        return None if _has_ended(read_case(folder)[1]) else folder
    except BadInput:
        with suppress(BadInput):
            if _has_ended(salvage_case(folder).rows):
                return None
        raise


def _has_ended(rows: Iterable[Row]) -> bool:
    return any(row.data.get("event") == "ended" for row in rows)


def _in_use(cases: Path) -> Path:
    memory = memory_of(cases)
    return memory if (memory / CURRENT).is_symlink() and _is_own(memory) else cases


def _is_own(folder: Path) -> bool:
    """Whether it is a folder of this user's that nobody else can write or read."""
    found = folder.lstat()
    is_closed = stat.S_IMODE(found.st_mode) & 0o077 == 0
    return stat.S_ISDIR(found.st_mode) and found.st_uid == os.geteuid() and is_closed
