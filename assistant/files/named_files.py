"""Files that somebody named on the command line: refused before anything waits for them."""

from pathlib import Path

from assistant.errors import BadInput


def to_read(path: Path, allowed: str) -> Path:
    """The path of a file with content. Raises BadInput for a pipe, which never ends."""
    if not path.is_file():
        found = "no such file" if not path.exists() else "something that is no file"
        raise BadInput.in_file(path, found=found, allowed=allowed)
    return path


def to_write(path: Path, allowed: str) -> Path:
    """The path of a file to write. Raises BadInput for a folder, and for a pipe."""
    if path.is_dir() or path.is_fifo() or path.is_socket():
        raise BadInput.in_file(path, found="something that is no file", allowed=allowed)
    return path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file that only its owner can read. Raises BadInput when it cannot be written."""
    try:
        to_write(path, "a file that can be written").touch(mode=0o600)
        path.write_bytes(content)
    except OSError as fault:
        raise BadInput.in_file(
            path, found=fault.strerror or "a fault", allowed="a file that can be written"
        ) from fault
