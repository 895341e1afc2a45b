"""The facilitator's rows: chained, on the case's time, and only while a case goes on."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from assistant.clock import MonotonicClock, SoundClock
from assistant.debrief.timeline import read_timeline
from assistant.debrief.verifying import verify_case
from assistant.errors import BadInput
from assistant.journal.facilitator import RECORD_NAME, FacilitatorRecord
from assistant.journal.journal import Journal


@pytest.fixture
def case(tmp_path: Path) -> Path:
    """A case that is going on."""
    folder = tmp_path / "case"
    folder.mkdir()
    Journal(folder, MonotonicClock(), "Small brief")
    return folder


def test_marks_stand_in_the_case_in_order_and_in_its_time(case: Path) -> None:
    """Two terminals may mark the same case: each row is linked to the one before."""
    one, other = FacilitatorRecord(case), FacilitatorRecord(case)
    one.add("mark", "nobody looked up")
    other.add("call-out", "")
    one.add("closed", "")
    found = [entry for entry in read_timeline(case).entries if entry.who == "facilitator"]
    assert [(entry.meaning, entry.text) for entry in found] == [
        ("mark", "nobody looked up"),
        ("call-out", ""),
        ("closed", ""),
    ]
    assert all(entry.at_s is not None and 0 <= entry.at_s < 60 for entry in found)
    assert (case / RECORD_NAME).stat().st_mode & 0o777 == 0o600
    verified = verify_case(case)
    assert verified.faults == ()
    assert any("facilitator: 3" in line for line in verified.told)


def test_a_changed_mark_shows(case: Path) -> None:
    """A word of it, or a whole row that is gone."""
    record = FacilitatorRecord(case)
    for text in ("first", "second", "third"):
        record.add("mark", text)
    path = case / RECORD_NAME
    kept = path.read_bytes()
    for change in (
        "UPDATE rows SET text = 'zecond' WHERE seq = 2",
        "DELETE FROM rows WHERE seq = 3",
    ):
        with closing(sqlite3.connect(path, isolation_level=None)) as base:
            base.execute(change)
        assert verify_case(case).faults
        path.write_bytes(kept)
    assert verify_case(case).faults == ()


def test_a_case_that_has_ended_takes_no_more_marks(case: Path) -> None:
    """What is added later would stand at a time that is not the case's."""
    record = FacilitatorRecord(case)
    journal = Journal(case, MonotonicClock(), None)
    journal.append("assistant", "event", "the case was ended", data={"event": "ended"})
    assert record.is_over()
    with pytest.raises(BadInput, match="has ended"):
        record.add("mark", "")
    assert not (case / RECORD_NAME).exists()


def test_a_case_on_the_clock_of_its_sound_takes_none(tmp_path: Path) -> None:
    """It goes faster than life: nobody can mark it."""
    Journal(tmp_path, SoundClock(), "Small brief")
    with pytest.raises(BadInput, match="clock of its sound"):
        FacilitatorRecord(tmp_path)
