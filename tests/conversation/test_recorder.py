"""The recorder by itself: what becomes a row, and who is told when."""

from pathlib import Path

import pytest

from assistant.brief.case import Case
from assistant.brief.events.asking import Asked
from assistant.brief.moment import Happened
from assistant.brief.states import State
from assistant.clock import SoundClock
from assistant.conversation.recorder import CaseRecorder
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.journal.journal import Journal, read_case
from assistant.journal.rows import Row
from assistant.site.site import Site
from assistant.speaking.mouth import Line


class FullDisk(Journal):
    """Stands in for a disk that is full while `full` is set."""

    full = False

    @property
    def lost(self) -> bool:
        return self.full


class Kept:
    """A recorder of a new case, and what it told."""

    def __init__(self, folder: Path, site: Site) -> None:
        self.folder = folder
        self.case = Case(site.brief)
        self.journal = FullDisk(folder, SoundClock(), site.brief.name)
        self.told: list[Row | str] = []
        self.recorder = CaseRecorder(
            self.journal,
            self.case,
            on_row=self._row,
            on_loss=lambda: self.told.append("lost"),
        )

    def _row(self, row: Row) -> None:
        assert read_case(self.folder)[1][-1] == row, "told before it was on disk"
        self.told.append(row)


@pytest.fixture
def kept(tmp_path: Path, site: Site) -> Kept:
    return Kept(tmp_path, site)


def test_an_event_is_on_disk_and_the_case_goes_on_from_it(kept: Kept) -> None:
    """The live case is what its row makes of it, and so is one rebuilt from disk."""
    kept.recorder.event(Happened(Asked(item="suction"), "Suction", "suction"))

    assert (kept.case.state, kept.case.known.current) == (State.ASKING, "suction")
    rebuilt = Case.rebuilt(kept.case.brief, read_case(kept.folder)[1])
    assert (rebuilt.state, rebuilt.known) == (kept.case.state, kept.case.known)


@pytest.mark.parametrize(
    ("verdict", "kind"),
    [(Verdict.ACCEPT, "heard"), (Verdict.ASK, "heard"), (Verdict.IGNORE, "ignored")],
)
def test_what_was_heard_is_kept_by_its_verdict(kept: Kept, verdict: Verdict, kind: str) -> None:
    """With the item that was asked, when it was said, and why it did not count."""
    reading = Reading("seven zero kilos", "number", {"number": 70.0}, 0.9, verdict, "why")
    kept.recorder.heard(Heard(1.5, 2.5, reading))
    (row,) = read_case(kept.folder)[1]

    assert (row.who, row.kind, row.text, row.meaning) == ("team", kind, reading.text, "number")
    assert (row.mono_s, row.data["ended_s"], row.confidence) == (1.5, 2.5, 0.9)
    assert (row.data["verdict"], row.data["why"]) == (verdict.value, "why")
    assert row.data["values"] == {"number": 70.0}


def test_every_line_has_a_row_of_what_became_of_it(kept: Kept) -> None:
    """Said, cut short, or not spoken and why; each about its item."""
    line = Line("Is the suction working?", "ask", "suction")
    kept.recorder.said(line, 1.5)
    kept.recorder.cut_short(line)
    kept.recorder.not_spoken(line, "no memory")
    rows = read_case(kept.folder)[1]

    assert [(row.kind, row.item) for row in rows] == [
        ("said", "suction"),
        ("event", "suction"),
        ("event", "suction"),
    ]
    assert rows[0].text == rows[1].data["text"] == rows[2].data["text"] == line.text
    assert rows[2].data["why"] == "no memory"


def test_a_loss_is_told_once_each_time_it_begins(kept: Kept) -> None:
    """Before the row itself is told, and again only when the disk had been back."""
    for full in (False, True, True, False, True):
        kept.journal.full = full
        kept.recorder.note("something")

    assert ["lost" if one == "lost" else "row" for one in kept.told] == [
        *("row", "lost", "row", "row", "row", "lost", "row"),
    ]
