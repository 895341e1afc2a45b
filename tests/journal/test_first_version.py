"""Records that were written before events had versions still open."""

import sqlite3
from pathlib import Path

import pytest

from assistant.brief.brief import Brief
from assistant.brief.case import Case
from assistant.brief.item import Standing
from assistant.brief.states import State
from assistant.debrief.measures import measure
from assistant.debrief.timeline import read_timeline
from assistant.files.yaml_files import read_yaml
from assistant.journal.journal import FILE_NAME, read_case

KEPT = Path(__file__).parent / "first_version"
"""A rehearsed night shift as the program wrote it then, as SQL, with the brief of its site.

Kept as it was, with items that no site has any more: a case is folded by the brief it was held by.
"""


@pytest.fixture
def old_case(tmp_path: Path) -> Path:
    """The folder of that case."""
    base = sqlite3.connect(tmp_path / FILE_NAME)
    base.executescript((KEPT / "journal.sql").read_text("utf-8"))
    base.close()
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "brief.yaml").write_bytes((KEPT / "brief.yaml").read_bytes())
    return tmp_path


def test_an_old_case_is_rebuilt_whole(old_case: Path) -> None:
    """Every event counts, and the case is where it was: ended, with nothing left open."""
    _, rows = read_case(old_case)
    case = Case.rebuilt(read_yaml(old_case / "site" / "brief.yaml", Brief), rows)
    assert case.unread == []
    assert case.state is State.ENDED
    assert (case.known.weight_kg, len(case.known.attempts)) == (70, 2)
    left = [item for item, one in case.known.items.items() if one.standing is not Standing.DONE]
    assert left == []


def test_an_old_case_can_be_debriefed(old_case: Path) -> None:
    """Two attempts, the first failed; one call. The times are those of its record."""
    measures = measure(read_timeline(old_case))
    outcomes = [(attempt.outcome, attempt.lasted_s) for attempt in measures.attempts]
    assert [outcome for outcome, _ in outcomes] == ["failed", "tube in"]
    assert all(lasted_s is not None and lasted_s > 30 for _, lasted_s in outcomes)
    assert measures.items is not None
    assert measures.items.deferred == ("pressor",)
