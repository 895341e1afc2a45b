"""Opening a new case, in memory where the disk takes none: nobody is left without the brief."""

import logging
import shutil
from dataclasses import dataclass
from pathlib import Path

from assistant.clock import Clock
from assistant.errors import BadInput
from assistant.journal.at_hand import made_memory
from assistant.journal.folder import new_case
from assistant.live.resuming import OpenCase, open_case
from assistant.site.site import Site

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class NewCase:
    """A case that was just opened, and its folder."""

    opened: OpenCase
    folder: Path
    in_memory: bool
    """The disk is full or gone."""


def begin_case(cases: Path, site: Site, clock: Clock) -> NewCase:
    """A new case among the others, or else in memory. Raises BadInput or OSError
    where neither is possible."""
    try:
        return NewCase(*_opened(cases, site, clock), in_memory=False)
    except (BadInput, OSError) as fault:
        log.warning("no case can be recorded in %s: %s", cases, fault)
    return NewCase(*_opened(made_memory(cases), site, clock), in_memory=True)


def _opened(cases: Path, site: Site, clock: Clock) -> tuple[OpenCase, Path]:
    folder = new_case(cases, site.files)
    try:
        return open_case(folder, site, clock), folder
    except (BadInput, OSError):
        shutil.rmtree(folder, ignore_errors=True)  # no case, and nothing to be taken for one
        raise
