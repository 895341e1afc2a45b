"""Reads the record of the case at hand while it is being written, without changing it."""

from dataclasses import dataclass
from pathlib import Path

from assistant.brief.case import Case, ImpossibleEvent
from assistant.clock import boot_id
from assistant.errors import BadInput
from assistant.journal.at_hand import case_at_hand, idle_folder
from assistant.journal.boots import boots
from assistant.journal.journal import CaseMeta, look_on, read_meta
from assistant.oximeter.messages import somebody_listens
from assistant.site.site import Site, read_site


@dataclass(slots=True)
class CaseInHand:
    """One case, as far as its record has been read."""

    folder: Path
    site: Site
    """As it was when the case was opened."""
    meta: CaseMeta
    case: Case
    boot: str
    """The run (boot) of the machine in which the record was last written."""
    shift_s: float = 0.0
    """From that run's monotonic clock to the case's."""
    rows: int = 0

    @property
    def rebooted(self) -> bool:
        """Whether the machine was started anew since the case was opened."""
        return self.boot != self.meta.boot

    def now_s(self, mono_s: float) -> float | None:
        """The case's clock at a moment of the machine's; None when nothing relates the two."""
        if self.meta.clock != "monotonic" or self.boot != boot_id():
            return None
        return mono_s + self.shift_s


class CaseReader:
    """Keeps up with the record of whatever case is at hand."""

    def __init__(self, cases: Path) -> None:
        self._cases = cases
        self._now: CaseInHand | None = None

    def case(self) -> CaseInHand | None:
        """The case at hand with all that is on record by now; None between cases.

        Raises BadInput for a record that cannot be read; the next call begins anew.
        """
        folder = case_at_hand(self._cases)
        now, self._now = self._now, None  # a record that was read in part is read from its start
        if folder is None:
            return None
        try:
            if now is None or now.folder != folder:
                now = _opened(folder)
            _read_on(now)
        except (ImpossibleEvent, KeyError, TypeError, ValueError, OSError) as fault:
            raise BadInput.in_file(
                folder, found=f"a record that makes no sense ({fault})", allowed="a case's record"
            ) from fault
        self._now = now
        return now

    def listened(self) -> bool:
        """Whether somebody is there who would hear an answer, or the words that open a case."""
        return somebody_listens(case_at_hand(self._cases) or idle_folder(self._cases))


def _opened(folder: Path) -> CaseInHand:
    site = read_site(folder / "site")
    meta = read_meta(folder)
    return CaseInHand(folder, site, meta, Case(site.brief), meta.boot)


def _read_on(now: CaseInHand) -> None:
    _, rows = look_on(now.folder, now.rows)
    for row in rows:
        now.case.apply(row)
        now.rows += 1
    for boot, shift_s in boots(rows).items():  # the last of them is the present one
        now.boot, now.shift_s = boot, shift_s
