"""A record of which a part is damaged or gone: what is left is told, and that it is not all."""

import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from assistant.commands.main import main
from assistant.debrief.drawing import NOT_RECORDED, draw
from assistant.debrief.lanes import WIDE
from assistant.debrief.measures import measure
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
    for folder, missing in ((case, True), (whole_case.folder, False)):
        timeline = read_timeline(folder)
        drawn = draw(timeline, measure(timeline), WIDE).decode()
        assert (NOT_RECORDED in drawn) is missing


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


DEEP = "[" * 100_000
"""No program reads this to its end."""
ASKED, EVENT = "meaning = 'ask'", "data LIKE '%\"asked\"%'"
ALTERED = [
    (FILE_NAME, ASKED, {"lasts_s": None}),
    (FILE_NAME, ASKED, DEEP),
    (FILE_NAME, EVENT, {"version": [1]}),
    (FILE_NAME, EVENT, {"boot": "another"}),
    (RECORD_NAME, "text = 'samples'", {"samples": [[1.0, 97]]}),
    (RECORD_NAME, "text = 'samples'", DEEP),
]
"""Of which record, of which row of it, and what is put into that row's data, or in their place."""


def alter(file: Path, which: str, put: dict[str, Any] | str) -> None:
    """Change the first of these rows, as somebody might by hand."""
    with closing(sqlite3.connect(file, isolation_level=None)) as base:
        seq, before = base.execute(f"SELECT seq, data FROM rows WHERE {which}").fetchone()  # noqa: S608
        now = put if isinstance(put, str) else json.dumps(json.loads(before) | put)
        base.execute("UPDATE rows SET data = ? WHERE seq = ?", (now, seq))


@pytest.fixture
def short_case(new_case: Callable) -> Path:
    """A case of a question, its answer and a sample; nobody writes now."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(4.0, "yes confirmed", "confirm")
    case.watch(5.0, "event", "samples", samples=[[5.0, 97, 80, True, 3]])
    case.journal.close()
    return case.folder


@pytest.mark.parametrize(("file", "which", "put"), ALTERED)
def test_an_altered_record_gives_no_traceback(
    short_case: Path, capsys: pytest.CaptureFixture[str], file: str, which: str, put: Any
) -> None:
    """It is told without that row, or refused by what was altered; and verifying shows it."""
    alter(short_case / file, which, put)
    ended = main(["debrief", str(short_case), "--json"])
    told = capsys.readouterr().err
    assert ended in (0, 2), told
    assert ended == 0 or f"of {file} is altered" in told
    assert main(["debrief", str(short_case), "--verify"]) == 1


@pytest.mark.parametrize("file", [FILE_NAME, RECORD_NAME])
def test_a_pipe_in_place_of_a_record_is_not_waited_for(short_case: Path, file: str) -> None:
    """As in a folder that was brought from elsewhere: what the other record has is told."""
    (short_case / file).unlink()
    os.mkfifo(short_case / file)
    assert main(["debrief", str(short_case), "--json"]) == 0
    assert main(["debrief", "--all", str(short_case.parent), "--json"]) == 0
