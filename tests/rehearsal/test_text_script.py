"""A script for a case in text, and the command that plays it."""

import io
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from assistant.brief.case import Case
from assistant.commands.main import main
from assistant.errors import BadInput
from assistant.journal.journal import read_case
from assistant.journal.rows import TYPED, Row
from assistant.oximeter.messages import Calling
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.text_script import ScriptRun, read_script
from assistant.site.site import Site
from tests.rehearsal.conftest import REHEARSALS

SCRIPTS = sorted(REHEARSALS.glob("*.txt"))
Play = Callable[[str], int]
BEGIN = "begin the brief\n> Bag. Flush oxygen, mask sealed?\n"


@pytest.fixture
def play(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Play:
    """Plays a script that is piped in; returns the exit code."""

    def played(script: str) -> int:
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(script.encode())))
        return main(["rehearse", "--text", "--cases", str(tmp_path / "cases")])

    return played


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.stem)
def test_each_script_that_is_shipped_ends_as_written(
    script: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every line of it was said, and the case was ended and can be read back."""
    code = main(["rehearse", "--text", str(script), "--cases", str(tmp_path)])
    printed = capsys.readouterr().out
    (folder,) = tmp_path.iterdir()
    expected = sum(line.mark == ">" for line in read_script(script.read_text("utf-8"), script))

    assert (code, "Not as expected" in printed) == (0, False), printed
    assert f"{expected} lines said as expected" in printed
    assert read_case(folder)[1][-1].text == "This case is ended, and on record."


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.stem)
def test_the_live_case_can_be_rebuilt_from_its_record_at_every_row(
    script: Path, site: Site
) -> None:
    """At each row, what the live case was is what the rows on disk up to there make of it."""
    lived: list[tuple[Any, Any]] = []
    talk: TextCase | None = None

    def look(what: Row | Calling) -> None:
        if isinstance(what, Row):
            case = Case(site.brief) if talk is None else talk.case
            lived.append((case.state, deepcopy(case.known)))

    talk = TextCase(site, show=look)
    run = ScriptRun(talk, print)
    complaints = [run.play(line) for line in read_script(script.read_text("utf-8"), script)]
    rows = read_case(talk.folder)[1]
    talk.close()

    assert not any(complaints)
    assert len(rows) == len(lived) > 100
    rebuilt = Case(site.brief)
    for row, then in zip(rows, lived, strict=True):
        rebuilt.apply_old(row)  # as `Case.rebuilt` does with each
        assert (rebuilt.state, rebuilt.known) == then, row
    whole = Case.rebuilt(site.brief, rows)
    assert (whole.state, whole.known) == lived[-1]


def test_there_is_a_smooth_one_and_one_that_goes_wrong() -> None:
    """Authors find both beside the rehearsals on sound."""
    assert [path.stem for path in SCRIPTS] == [
        "goes-wrong-in-text",
        "neck-in-text",
        "smooth-in-text",
    ]


def test_it_says_first_that_hearing_is_not_exercised(
    play: Play, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """In the first line printed, and on record."""
    assert play(BEGIN) == 0

    first = capsys.readouterr().out.splitlines()[0]
    assert "neither hearing nor voice is exercised" in first
    (folder,) = (tmp_path / "cases").iterdir()
    assert read_case(folder)[1][0].text == TYPED


@pytest.mark.parametrize(
    ("script", "complaint"),
    [
        ("> Good morning.", "line 1: 'Good morning.' was to be said, and it was 'Tarn"),
        ("begin the brief\n> Bag…\n> Bag…", "line 3: 'Bag…' was to be said, and nothing more was"),
        ("+1\n> Again…", "line 2: 'Again…' was to be said, and nothing more was"),
        ("yes confirmed", "line 1: 'yes confirmed' was ignored: not listened for now"),
        ("~yes confirmed", "line 1: 'yes confirmed' was ignored: not listened for now"),
        ("\n# -\n-begin the brief", "line 3: 'begin the brief' was taken for something said to"),
    ],
)
def test_what_is_not_as_written_ends_it_with_one_sentence(
    play: Play, capsys: pytest.CaptureFixture[str], script: str, complaint: str
) -> None:
    """Exit code 1, the line of the script, and nothing after it is played."""
    code = play(f"{script}\nbegin the brief")
    faults = [line for line in capsys.readouterr().out.splitlines() if "Not as expected" in line]

    assert code == 1
    assert len(faults) == 1
    assert complaint in faults[0]


def test_what_is_as_written_ends_it_with_0(play: Play) -> None:
    """A beginning is enough where … stands, and lines that are not written are not asked for."""
    for script in (
        "> Tarn Hollow …\n-yes confirmed\n-what is for lunch",
        "> Tarn Hollow...\nbegin the brief\n+7\n> Again: Is oxygen on…",
        f"{BEGIN}!93\n> Is oxygen on at flush rate, with the mask sealed?",
        f"{BEGIN}~yes confirmed\n> Oxygen on, yes?",
    ):
        assert play(script) == 0, script


def test_it_shows_what_may_be_said(play: Play, capsys: pytest.CaptureFixture[str]) -> None:
    """By meaning, with slots in braces, and no room talk."""
    play("?")
    printed = capsys.readouterr().out

    assert "start: begin / begin the brief / start the brief" in printed
    assert "what is the dose of {drug} for {weight_kg} kilos" in printed
    assert "thank you" not in printed
    assert "yes confirmed" not in printed


REFUSED = {
    "+ and seconds": ("+", "+soon", "+nan", "+0", "+3601"),
    "! and a saturation": ("!", "!0", "!101", "!93.5", "!²"),
    "? by itself": ("? please",),
    "~ and words": ("~",),
    "- and words": ("-",),
    "> and words": (">",),
}
"""What is allowed, and lines that are not."""


def test_a_line_that_makes_no_sense_is_refused_with_its_number() -> None:
    """Before anything is played: file, line, what was found, what is allowed."""
    for allowed, lines in REFUSED.items():
        for line in lines:
            with pytest.raises(BadInput) as refused:
                read_script(f"begin the brief\n# a comment\n{line}\n", Path("script.txt"))
            assert f"script.txt, line 3: found {line!r}; allowed: {allowed}" in str(refused.value)


def test_no_case_is_left_of_a_script_that_is_refused(
    play: Play, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2 and one sentence."""
    assert play(f"{BEGIN}+soon") == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not (tmp_path / "cases").exists()


@pytest.mark.parametrize("option", ["--play", "--real-time", "--times"])
def test_it_has_no_sound_to_play(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence says so."""
    assert main(["rehearse", "--text", str(SCRIPTS[0]), option, "--cases", str(tmp_path)]) == 2
    assert "--text has no sound" in capsys.readouterr().err


@pytest.mark.parametrize("text", [None, b"\xff\xfe"])
def test_a_file_that_is_no_script_is_refused(
    text: bytes | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Absent or no text: the file and what is wrong with it."""
    path = tmp_path / "script.txt"
    if text is not None:
        path.write_bytes(text)

    assert main(["rehearse", "--text", str(path), "--cases", str(tmp_path / "cases")]) == 2
    assert f"{path}: found " in capsys.readouterr().err


class Typing(io.StringIO):
    """Stands in for a terminal that somebody types at."""

    def isatty(self) -> bool:
        return True


def test_whoever_types_is_told_and_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What makes no sense or is not listened for ends nothing; the end of the input does."""
    monkeypatch.setattr("sys.stdin", Typing("+soon\nyes confirmed\nbegin the brief\n"))
    code = main(["rehearse", "--text", "--cases", str(tmp_path)])
    printed = capsys.readouterr().out

    assert code == 0
    assert "allowed: + and seconds" in printed
    assert "'yes confirmed' was ignored: not listened for now" in printed
    assert "assistant  Bag. Flush oxygen, mask sealed?" in printed
