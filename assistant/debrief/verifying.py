"""Whether a case is as it was written: its records, and the site's files that are kept with it."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from assistant.brief.events.course import GaveWay
from assistant.errors import BadInput
from assistant.journal import facilitator
from assistant.journal.folder import KEPT_SITE, hashes
from assistant.journal.journal import look_on, read_meta, verify_journal
from assistant.journal.kept_sounds import FOLDER, kept_sounds
from assistant.oximeter.reading import verify_record
from assistant.oximeter.record import RECORD_NAME


@dataclass(frozen=True, slots=True)
class VerifiedCase:
    """What came of it."""

    faults: tuple[str, ...]
    """Whole sentences; none when all is as it was written."""
    vouched: bool
    """Whether every row is chained."""
    watched: bool
    """Whether there is anything of a watcher's; without it nobody can tell whether there was."""
    told: tuple[str, ...]
    """What else a reader has to know."""


def verify_case(case: Path) -> VerifiedCase:
    """Verify a case's folder. Raises BadInput when it holds none."""
    journal, watched = verify_journal(case), verify_record(case / RECORD_NAME)
    told = [
        f"Rows of the conversation: {journal.rows}; of the watcher: {watched.rows}.",
        f"Seals, to be written down elsewhere: {_short(journal.seal)}, {_short(watched.seal)}.",
    ]
    marked = verify_record(case / facilitator.RECORD_NAME)
    if marked.rows or marked.faults:
        told.append(f"Rows of the facilitator: {marked.rows}; their seal: {_short(marked.seal)}.")
    unlinked = journal.unlinked + watched.unlinked + marked.unlinked
    if unlinked:
        told.append(f"Rows from before rows were chained, which nothing vouches for: {unlinked}.")
    sounds = _Sounds(case)
    if sounds.named:
        told.append(f"Sounds of utterances: {len(sounds.named)}.")
    if sounds.not_yet:
        told.append(f"The last sound, {sounds.not_yet}, is not there, as after a power cut.")
    there = bool(watched.rows or watched.faults)
    faults = (
        *(*journal.faults, *watched.faults, *marked.faults),
        *(*_site(case), *sounds.faults()),
        *(() if there else _of_a_watcher(case)),
    )
    if not there:
        told.append("There is no record of a watcher.")
    return VerifiedCase(faults, not unlinked, there, tuple(told))


@contextmanager
def altered_told(case: Path) -> Iterator[None]:
    """Whatever goes wrong with a record that somebody has altered is told in a sentence.

    Of one that is as it was written it is a fault of the program, and goes on as such. Raises
    BadInput.
    """
    try:
        yield
    except (BadInput, OSError):
        raise
    except Exception as fault:
        altered = verify_case(case).faults
        if not altered:
            raise
        raise BadInput.in_file(
            case,
            found=f"a record that makes no sense and was altered ({altered[0].rstrip('.')})",
            allowed="one as it was written; --verify tells all that was altered",
        ) from fault


def _short(seal: str) -> str:
    """Sixteen digits, in fours: they can be written down, and nobody hits them by chance."""
    return "-".join(seal[at : at + 4] for at in range(0, 16, 4)) if seal else "none"


def _site(case: Path) -> Iterator[str]:
    try:
        meta = read_meta(case)
    except BadInput:
        return  # what is wrong with it has been told
    now = hashes(case / KEPT_SITE)
    for name, told in meta.site_files.items():
        if name not in now:
            yield f"The site's {name} that was kept with the case is gone."
        elif now[name] != told:
            yield f"The site's {name} that was kept with the case is altered."


def _of_a_watcher(case: Path) -> Iterator[str]:
    """That its record is gone, where the conversation's tells that it has called."""
    with suppress(BadInput):
        _, rows = look_on(case, 0)
        if any(row.data.get("event") == GaveWay.name or row.meaning == "call" for row in rows):
            yield "The watcher's record is gone: the conversation's tells of its calls."


class _Sounds:
    """The sounds that are kept with a case, held against the hashes in their rows."""

    def __init__(self, case: Path) -> None:
        self._folder = case / FOLDER
        all_there = hashes(self._folder)  # what begins with a dot is the half of one
        self._there = {name: told for name, told in all_there.items() if name[0] != "."}
        try:
            self.named = kept_sounds(look_on(case, 0)[1])
        except BadInput:
            self.named = {}
        last = next(reversed(self.named), "")
        self.not_yet = last if last and last not in self._there else ""
        """A file follows its row: of the last one a power cut may have left the row only."""

    def faults(self) -> Iterator[str]:
        for name, told in self.named.items():
            if name not in self._there and name != self.not_yet:
                yield f"The sound {name} is gone."
            elif name in self._there and self._there[name] != told:
                yield f"The sound {name} is altered."
        for name in self._there:
            if name not in self.named:
                yield f"There is a sound that no row names: {name}."
