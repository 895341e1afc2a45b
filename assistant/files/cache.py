"""What took long to work out and can be worked out again: kept in the user's cache."""

import json
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

import platformdirs


def cached(*names: str) -> Path:
    """Where something is kept, by the names of its folders and its own."""
    return platformdirs.user_cache_path("spoken-brief").joinpath(*names)


def keep(path: Path, content: bytes) -> None:
    """Write beside, then move: a torn file is never read, and a full disk only forgets it.

    Nobody waits until it is on disk, as a caller may be in the middle of a case: a power cut may
    leave a name with less behind it, which whoever reads it has to see.
    """
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile(dir=path.parent, suffix=path.suffix, delete=False) as beside:
            try:
                beside.write(content)
                beside.flush()
            except OSError:
                Path(beside.name).unlink()
                raise
        Path(beside.name).replace(path)


def leave_newest(folder: Path, *, most_bytes: int) -> None:
    """Remove the oldest files of a folder and of those in it, until the others take no more."""
    found: list[tuple[float, int, Path]] = []
    for path in folder.rglob("*"):
        with suppress(OSError):  # another process may remove it as well
            if path.is_file():
                found.append((path.stat().st_mtime, path.stat().st_size, path))
    taken_bytes = 0
    for _, size_bytes, path in sorted(found, reverse=True):
        taken_bytes += size_bytes
        if taken_bytes > most_bytes:
            with suppress(OSError):
                path.unlink()


def kept(path: Path) -> dict[str, Any]:
    """The answers that were kept there, by what was asked; none when that is nothing, or torn."""
    try:
        told = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return {}
    return told if isinstance(told, dict) else {}


def keep_more(path: Path, answers: Mapping[str, Any]) -> None:
    """Keep these answers beside those that others have kept there meanwhile; of what two keep at
    once, one is asked again."""
    keep(path, json.dumps({**kept(path), **answers}, ensure_ascii=False).encode())
