"""Opening a new case, in memory where the disk takes none: nobody is left without the brief."""

import logging
import shutil
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkdtemp

from assistant.clock import Clock
from assistant.errors import BadInput
from assistant.journal.folder import new_case
from assistant.live.resuming import OpenCase, open_case
from assistant.site.site import Site

IN_MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of its own is made in it, for its owner only
_BRINGING = ".bringing-"

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class NewCase:
    """A case that was just opened, and its folder."""

    opened: OpenCase
    folder: Path
    in_memory: bool
    """The disk is full or gone: neither the watcher nor another start knows of this case."""


def begin_case(cases: Path, site: Site, clock: Clock) -> NewCase:
    """A new case among the others, or else in memory. Raises BadInput or OSError
    where neither is possible."""
    try:
        return NewCase(*_opened(cases, site, clock), in_memory=False)
    except (BadInput, OSError) as fault:
        log.warning("no case can be recorded in %s: %s", cases, fault)
    memory = Path(
        mkdtemp(prefix="spoken-brief-case-", dir=IN_MEMORY if IN_MEMORY.is_dir() else None)
    )
    return NewCase(*_opened(memory, site, clock), in_memory=True)


def bring_home(case: NewCase, cases: Path) -> None:
    """Put a case that was in memory among the others, whole or not at all, if the disk takes it by
    now; else it stays where it is, until the machine is off."""
    beside = cases / f"{_BRINGING}{case.folder.name}"
    try:
        shutil.copytree(case.folder, beside)
        beside.rename(cases / case.folder.name)
    except OSError:
        log.warning("the case in %s could not be put on the disk", case.folder)
        shutil.rmtree(beside, ignore_errors=True)
    else:
        shutil.rmtree(case.folder.parent, ignore_errors=True)


def _opened(cases: Path, site: Site, clock: Clock) -> tuple[OpenCase, Path]:
    folder = new_case(cases, site.folder)
    try:
        return open_case(folder, site, clock), folder
    except (BadInput, OSError):
        shutil.rmtree(folder, ignore_errors=True)  # no case, and nothing to be taken for one
        raise
