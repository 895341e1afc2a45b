"""Where cases are kept just now: on the disk, or in the machine's memory while that takes none."""

import logging
from dataclasses import dataclass
from pathlib import Path

from assistant.clock import Clock
from assistant.errors import BadInput
from assistant.journal.at_hand import case_at_hand, memory_of, take_in_hand, unfinished_case
from assistant.journal.in_memory import settle
from assistant.journal.journal import Journal
from assistant.live.opening import begin_case
from assistant.live.resuming import OpenCase, resume_case
from assistant.site.site import Site

BETWEEN_CASES_S, IN_A_CASE_S = 60.0, 10.0
"""A disk that takes no record is tried again after so long."""

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Found:
    """What a listener finds when it is started."""

    case: OpenCase | None = None
    """The case that goes on."""
    damage: str = ""
    """Why a case that was open cannot go on; empty where none was, or it can."""


class Records:
    """The folder of the cases, or what stands in for it."""

    def __init__(self, cases: Path, clock: Clock) -> None:
        self._cases = cases
        self._clock = clock
        self._settled_s = clock.now_s()
        self.on_disk = True

    @property
    def folder(self) -> Path:
        """Where cases are kept just now."""
        return self._cases if self.on_disk else memory_of(self._cases)

    def settle(self, at_hand: Path | None) -> None:
        """Be on the disk if it takes records, else in memory, with the case that goes on.

        Raises OSError when neither has room.
        """
        before, self.on_disk = self.on_disk, settle(self._cases, at_hand)
        self._settled_s = self._clock.now_s()
        if before and not self.on_disk:
            log.warning("%s takes no record: cases are kept in %s", self._cases, self.folder)

    def take_up(self) -> Found:
        """The case that was cut short, if one was; one that is damaged is laid down where it is.

        Raises OSError as `settle` does.
        """
        try:
            at_hand = unfinished_case(self._cases)
        except BadInput as damage:
            return self._laid_down(damage)
        self.settle(at_hand)
        at_hand = case_at_hand(self._cases)  # it may have been taken to another place
        try:
            return Found(None if at_hand is None else resume_case(at_hand, self._clock))
        except BadInput as damage:
            return self._laid_down(damage)

    def _laid_down(self, damage: BadInput) -> Found:
        log.warning("The case that was open stays as it is, and a new one is opened: %s", damage)
        self.settle(None)
        return Found(damage=str(damage))

    def begin(self, site: Site) -> OpenCase:
        """A new case, which is the one at hand from now on. Raises BadInput or OSError."""
        new = begin_case(self._cases, site, self._clock)
        self.on_disk = not new.in_memory
        take_in_hand(self._cases, new.folder)
        log.info("case %s", new.folder.name)
        return new.opened

    def due(self, journal: Journal | None) -> bool:
        """Whether it is time to try the disk again: between cases while cases are in memory, in a
        case while rows wait for it."""
        wait_s = BETWEEN_CASES_S if journal is None else IN_A_CASE_S
        wanted = not self.on_disk if journal is None else journal.lost
        return wanted and self._clock.now_s() - self._settled_s > wait_s

    def rescue(self, case: OpenCase) -> None:
        """A case of which the disk takes no more goes on in memory, with what is there of it."""
        at_hand = case_at_hand(self._cases)
        if at_hand is None:
            return
        try:
            self.settle(at_hand)
        except OSError as fault:  # its rows wait as they did
            log.warning("%s cannot be kept in memory: %s", at_hand, fault)
            return
        now = case_at_hand(self._cases) or at_hand
        case.journal.move(now)
        if case.sounds is not None:
            case.sounds.move(now)
