"""Files that somebody named, and what may lie in their place: refused before anything waits."""

import os
import stat
from pathlib import Path

from assistant.errors import BadInput

_NO_FILES = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)
FOR_ITS_OWNER = 0o600
FOR_ALL = 0o666
"""Less what the system's own mask takes away, as of any file."""


def in_place_of_a_file(path: Path) -> str | None:
    """What lies where a file should, in words: "a pipe"; None for a file.

    A pipe would never end, and some devices neither.
    """
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        # A link is told, as whoever lists the folder sees a file there.
        return "a link that leads nowhere" if path.is_symlink() else "no such file"
    except OSError as fault:
        leads_round = "a link that leads to itself" if path.is_symlink() else None
        return leads_round or f"what cannot be opened ({os.strerror(fault.errno or 0)})"
    return next((name for is_one, name in _NO_FILES if is_one(mode)), None)


def stands_there(path: Path) -> bool:
    """Whether a folder lists that name, also where it is a link that leads nowhere."""
    return os.path.lexists(path)


def to_read(path: Path, allowed: str) -> Path:
    """The path of a file with content. Raises BadInput for a pipe, which never ends."""
    instead = in_place_of_a_file(path)
    if instead is not None:
        raise BadInput.in_file(path, found=instead, allowed=allowed)
    return path


def to_write(path: Path, allowed: str) -> Path:
    """The path of a file to write. Raises BadInput for a folder, and for a pipe."""
    if path.is_dir() or path.is_fifo() or path.is_socket():
        raise BadInput.in_file(path, found=str(in_place_of_a_file(path)), allowed=allowed)
    return path


def write_whole(path: Path, content: bytes, *, mode: int = FOR_ITS_OWNER) -> None:
    """Write a file; a new one only for its owner to read, unless it tells nothing of a case.

    Raises BadInput when it cannot be written.
    """
    try:
        to_write(path, "a file that can be written").touch(mode=mode)
        path.write_bytes(content)
    except OSError as fault:
        raise BadInput.in_file(
            path, found=fault.strerror or "a fault", allowed="a file that can be written"
        ) from fault
