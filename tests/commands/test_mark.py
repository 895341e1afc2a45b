"""A facilitator's marks from a second terminal: one by words, or one for each key."""

import os
import pty
import select
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.clock import MonotonicClock
from assistant.commands.main import main
from assistant.debrief.marks import marks_of, tapped
from assistant.debrief.timeline import read_timeline
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
    assert capsys.readouterr().out.splitlines()[0] == "Marked: mark, nobody looked up"


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
