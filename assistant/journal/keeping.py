"""Cases kept and not kept: listed, exported whole, removed whole, kept for so many days."""

import shutil
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from assistant.clock import WallReading
from assistant.errors import BadInput
from assistant.files.disk import sync_folder
from assistant.journal.at_hand import case_at_hand
from assistant.journal.journal import FILE_NAME, CaseMeta, read_meta

GOING = ".removing-"
"""Before the name of a folder whose removal has begun: no case any more, whatever is left of it."""


@dataclass(frozen=True, slots=True)
class KeptCase:
    """One case of a folder of cases."""

    folder: Path
    meta: CaseMeta | None
    """None when its record cannot be read."""
    size_bytes: int
    at_hand: bool

    def age(self, now: WallReading) -> timedelta | None:
        """How long ago it began; None where one of the two clocks was not to be trusted."""
        if self.meta is None or not (self.meta.started_wall_trusted and now.trusted):
            return None
        return datetime.fromisoformat(now.at) - datetime.fromisoformat(self.meta.started_wall)


def kept_cases(cases: Path) -> Iterator[KeptCase]:
    """The cases of a folder by their names. Raises BadInput when there is no such folder."""
    if not cases.is_dir():
        raise BadInput.in_file(cases, found="no such folder", allowed="a folder of cases")
    now = case_at_hand(cases)
    for folder in sorted(cases.iterdir()):
        is_case = (folder / FILE_NAME).is_file() and not folder.name.startswith(".")
        if not is_case or folder.is_symlink():
            continue
        size = sum(one.stat().st_size for one in folder.rglob("*") if one.is_file())
        yield KeptCase(folder, _meta(folder), size, now == folder.resolve())


def newest_case(cases: Path) -> Path | None:
    """The case at hand, or else the one that began last, by its wall clock; None without any that
    can be read."""
    at_hand = case_at_hand(cases)
    if at_hand is not None or not cases.is_dir():
        return at_hand
    began = [
        (one.meta.started_wall, one.folder.name, one.folder)
        for one in kept_cases(cases)
        if one.meta is not None
    ]
    return max(began)[-1] if began else None


def export_case(folder: Path, path: Path) -> None:
    """Write all of a case into one archive (zip), for its owner only.

    Raises BadInput when there is no case, it is going on, or the file cannot be written.
    """
    _refuse_unless_over(folder)
    try:
        path.touch(mode=0o600, exist_ok=False)
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for one in sorted(folder.rglob("*")):
                if one.is_file():
                    archive.write(one, Path(folder.name) / one.relative_to(folder))
    except OSError as fault:
        raise BadInput.in_file(
            path, found=fault.strerror or "a fault", allowed="a new file that can be written"
        ) from fault


def remove_case(folder: Path) -> None:
    """Remove all of a case.

    It is no case any more from the first moment, also when the power fails meanwhile; what is then
    left goes with the next removal. No file is written over: on a memory card that would reach
    other cells. Raises BadInput when there is no case, it is going on, or it cannot be removed.
    """
    _refuse_unless_over(folder)
    cases = folder.resolve().parent
    going = cases / f"{GOING}{folder.name}"
    try:
        folder.resolve().rename(going)
        sync_folder(cases)
        finish_removals(cases)
    except OSError as fault:
        raise BadInput.in_file(
            folder, found=fault.strerror or "a fault", allowed="a case that can be removed"
        ) from fault


def finish_removals(cases: Path) -> None:
    """Remove what is left of cases whose removal was cut short. Raises OSError."""
    for left in cases.glob(f"{GOING}*"):
        shutil.rmtree(left)
    sync_folder(cases)


def remove_older(cases: Path, days: int, now: WallReading) -> tuple[list[str], list[str]]:
    """Remove the cases that began more than so many days ago.

    Returns the names of those that were removed, and of those whose age nobody knows: they stay.
    A clock that nothing vouches for removes nothing. Raises BadInput.
    """
    removed: list[str] = []
    unknown: list[str] = []
    for one in kept_cases(cases):
        age = one.age(now)
        if age is None and not one.at_hand:
            unknown.append(one.folder.name)
        elif age is not None and age > timedelta(days=days) and not one.at_hand:
            remove_case(one.folder)
            removed.append(one.folder.name)
    return removed, unknown


def _meta(folder: Path) -> CaseMeta | None:
    try:
        return read_meta(folder)
    except BadInput:
        return None


def _refuse_unless_over(folder: Path) -> None:
    if not (folder / FILE_NAME).is_file():
        raise BadInput.in_file(folder, found="no case", allowed="a case's folder")
    if case_at_hand(folder.resolve().parent) == folder.resolve():
        raise BadInput.in_file(
            folder, found="the case that is going on", allowed="one that is over"
        )
