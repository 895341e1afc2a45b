"""A record of which a part is damaged or gone: what is left is told, and that it is not all."""

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.debrief.timeline import read_timeline
from assistant.journal.journal import FILE_NAME
from assistant.oximeter.record import RECORD_NAME

PAGE_BYTES = 4096
ROWS = 300


@pytest.fixture
def long_case(new_case: Callable) -> Path:
    """A case of some three hundred rows on many pages, and its watcher's; nobody writes now."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    for number in range(ROWS):  # each at a time of its own
        case.ignore(2.0 + number, "room talk of which nothing was kept but this much")
    case.saturation(9.0, 97)
    case.journal.close()
    return case.folder


def cut_off(file: Path) -> None:
    with file.open("r+b") as base:
        base.truncate(file.stat().st_size // 2)


def overwrite(file: Path) -> None:
    """A page in the middle of it."""
    with file.open("r+b") as base:
        base.seek(file.stat().st_size // PAGE_BYTES // 2 * PAGE_BYTES)
        base.write(bytes(range(256)) * (PAGE_BYTES // 256))


def overwrite_and_forget(file: Path) -> None:
    """The same, and nothing tells how many rows there were."""
    with closing(sqlite3.connect(file, isolation_level=None)) as base:
        base.execute("DROP TABLE head")
    overwrite(file)


@pytest.mark.parametrize("damage", [cut_off, overwrite, overwrite_and_forget])
def test_what_can_be_read_of_a_damaged_record_is_told(
    long_case: Path, damage: Callable[[Path], None]
) -> None:
    """Rows on whole pages are there, in their order and with the site's name; the note counts."""
    whole = read_timeline(long_case)
    damage(long_case / FILE_NAME)
    left = read_timeline(long_case)
    assert 10 < len(left.rows) < len(whole.rows)
    assert [one for one in whole.rows if one in left.rows] == list(left.rows)
    assert left.meta == whole.meta
    counted = f"damaged: of {len(whole.rows)} rows {len(left.rows)} can be read"
    assert any(counted in one for one in left.notes)


def test_a_record_of_which_nothing_is_left_is_told_to_be_so(
    long_case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The watcher's rows are told alone; without them there is nothing to tell, in one sentence."""
    (long_case / FILE_NAME).write_bytes(b"no record" * 1000)
    (note, *_) = read_timeline(long_case).notes
    assert note.startswith("The conversation's record is missing, or cannot be read")
    (long_case / RECORD_NAME).unlink()
    assert main(["debrief", str(long_case)]) == 2
    assert "found a record that cannot be read" in capsys.readouterr().err


def test_a_saturation_that_nobody_recorded_is_told_to_be_missing(
    whole_case, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Else it would pass for one that was never low; where it was recorded nothing is said."""
    case = tmp_path / "case"
    shutil.copytree(whole_case.folder, case)
    assert not any("No saturation" in one for one in read_timeline(case).notes)
    (case / RECORD_NAME).unlink()
    note = "No saturation was recorded: there is no record of a watcher."
    assert note in read_timeline(case).notes
    assert main(["debrief", str(case), "--aloud"]) == 0
    assert note in capsys.readouterr().out


def test_nothing_is_vouched_for_that_is_not_there(
    new_case: Callable, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whether there was a watcher nobody can tell; where the conversation gave way to one there
    was, and its record is gone."""
    case = new_case()
    assert main(["debrief", str(case.folder), "--verify"]) == 0
    told = capsys.readouterr().out
    assert "There is no record of a watcher." in told
    assert "Nothing of what is there was altered" in told
    data = {"event": "gave-way", "version": 1}
    case.journal.append("assistant", "event", "fell silent for the watcher's call", data=data)
    assert main(["debrief", str(case.folder), "--verify"]) == 1
    assert "The watcher's record is gone" in capsys.readouterr().out
