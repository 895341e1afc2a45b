"""Making sure that what was written stays after a power cut."""

import os
from pathlib import Path


def sync_file(file: Path) -> None:
    """Have what a file holds on disk. Raises OSError."""
    with file.open("rb") as written:
        os.fsync(written.fileno())


def sync_folder(folder: Path) -> None:
    """Have the names in a folder on disk: those that are new, and those that are gone.

    Raises OSError.
    """
    place = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(place)
    finally:
        os.close(place)
