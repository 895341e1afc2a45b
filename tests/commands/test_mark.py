"""A facilitator's marks from a second terminal: one by words, or one for each key."""

import os
import pty
import select
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.brief.events.asides import Ended
from assistant.brief.events.stored import stored
from assistant.clock import MonotonicClock, WallReading
from assistant.commands import debrief
from assistant.commands.main import main
from assistant.commands.options import named_case_or_last
from assistant.debrief.marks import marks_of, tapped
from assistant.debrief.timeline import read_timeline
from assistant.journal import journal
from assistant.journal.at_hand import take_in_hand
from assistant.journal.journal import Journal


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    """A folder of cases with one that is open."""
    folder = tmp_path / "one"
    folder.mkdir()
    Journal(folder, MonotonicClock(), "Small brief")
    take_in_hand(tmp_path, folder)
    return tmp_path


def test_one_mark_in_words(cases: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By the name of the case, or as the one that is open."""
    assert main(["mark", "current", "nobody looked up", "--cases", str(cases)]) == 0
    assert main(["mark", "one", "--kind", "check-back", "--cases", str(cases)]) == 0
    found = marks_of(read_timeline(cases / "one"))
    assert [(one.meaning, one.text) for one in found] == [
        ("mark", "nobody looked up"),
        ("check-back", ""),
    ]
    assert capsys.readouterr().out.splitlines() == [
        "Marked: nobody looked up",
        "Marked as check-back.",
    ]


def ended(cases: Path, name: str, at: str) -> None:
    """A case that began at that wall time, and ended."""
    (cases / name).mkdir()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(journal, "read_wall", lambda: WallReading(at, trusted=True))
        made = Journal(cases / name, MonotonicClock(), "Small brief")
    made.append("assistant", "event", "ended", data=stored(Ended()))
    made.close()


def test_the_last_case_is_the_open_one_or_the_newest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """By when it began, whatever its name; a case that ended is debriefed, and takes no mark."""
    monkeypatch.setattr(debrief, "default_cases", lambda: tmp_path)
    assert main(["debrief", "last"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    ended(tmp_path, "z", "2026-03-01T10:00:00.000Z")
    ended(tmp_path, "a", "2026-03-01T11:00:00.000Z")
    assert named_case_or_last(tmp_path, Path("last")).name == "a"
    assert main(["debrief", "last", "--verify"]) == 0
    assert main(["mark", "last", "text", "--cases", str(tmp_path)]) == 2
    assert "a case that has ended" in capsys.readouterr().err
    (tmp_path / "open").mkdir()
    Journal(tmp_path / "open", MonotonicClock(), "Small brief")
    take_in_hand(tmp_path, tmp_path / "open")
    assert main(["mark", "last", "text", "--cases", str(tmp_path)]) == 0
    assert [one.text for one in marks_of(read_timeline(tmp_path / "open"))] == ["text"]


def test_the_last_case_is_not_removed_by_that_word(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What cannot be undone takes the case's own name."""
    ended(tmp_path, "a", "2026-03-01T11:00:00.000Z")
    assert main(["cases", "--cases", str(tmp_path), "--remove", "last"]) == 2
    assert (tmp_path / "a").is_dir()
    assert capsys.readouterr().err.count("\n") == 1


def test_a_key_a_mark(cases: Path) -> None:
    """On a real terminal, without the enter key; other keys do nothing."""
    terminal, end = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "assistant", "mark", "current", "--cases", str(cases)],
        stdin=end,
        stdout=end,
        stderr=end,
    )
    os.close(end)
    printed = ""
    for key, told in (
        (b"", "q end"),
        (b"o", "\ncall-out"),
        (b"xb", "\ncheck-back"),
        (b"c", "\nclosed"),
    ):
        os.write(terminal, key)
        while told not in printed.replace("\r", ""):
            assert select.select([terminal], [], [], 20)[0], printed
            printed += os.read(terminal, 4096).decode()
    os.write(terminal, b"q")
    assert process.wait(20) == 0
    timeline = read_timeline(cases / "one")
    assert [one.meaning for one in marks_of(timeline)] == ["call-out", "check-back", "closed"]
    assert "call out 1, check back 1, closed 1" in tapped(timeline)


@pytest.mark.parametrize("named", ["current", "nobody"])
def test_no_case_is_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], named: str
) -> None:
    """Neither an open one, nor one of that name."""
    assert main(["mark", named, "text", "--cases", str(tmp_path)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
