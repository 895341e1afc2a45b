"""What took long to work out and can be worked out again: kept in the user's cache."""

from contextlib import suppress
from pathlib import Path
from tempfile import NamedTemporaryFile

import platformdirs


def cached(*names: str) -> Path:
    """Where something is kept, by the names of its folders and its own."""
    return platformdirs.user_cache_path("spoken-brief").joinpath(*names)


def keep(path: Path, content: bytes) -> None:
    """Write beside, then move: a torn file is never read, and a full disk only forgets it."""
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
