"""A rating sheet that is merged into a debrief, and what is refused of one."""

import json
from pathlib import Path
from typing import Any

import pytest

from assistant.commands.main import main

SHEET = """\ufeffwhat,score,of,remark,rater
Roles were named aloud,3,5,"two twice, one never",Ann
The call was acted upon,4.5,5,,Bob

The plan was spoken,0,2
"""


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """As a spreadsheet writes one."""
    path = tmp_path / "sheet.csv"
    path.write_text(SHEET, encoding="utf-8")
    return path


def test_the_sheet_stands_in_table_page_and_json(
    whole_case: Any, sheet: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each row with its scale; nothing is worked out from it."""
    case = str(whole_case.folder)
    assert main(["debrief", case, "--ratings", str(sheet)]) == 0
    assert "3 of 5 (Ann, two twice, one never)" in capsys.readouterr().out
    assert main(["debrief", case, "--ratings", str(sheet), "--json"]) == 0
    rated = json.loads(capsys.readouterr().out)["ratings"]
    assert [(one["score"], one["of"]) for one in rated] == [(3, 5), (4.5, 5), (0, 2)]
    page = tmp_path / "page.html"
    assert main(["debrief", case, "--ratings", str(sheet), "--html", str(page)]) == 0
    assert "4.5 of 5" in page.read_text("utf-8")


def test_redacted_it_names_nobody(
    whole_case: Any, sheet: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Raters by numbers, remarks left out."""
    words = ["debrief", str(whole_case.folder), "--ratings", str(sheet), "--json", "--redact"]
    assert main(words) == 0
    rated = json.loads(capsys.readouterr().out)["ratings"]
    assert [one["rater"] for one in rated] == ["rater 1", "rater 2", ""]
    assert {one["remark"] for one in rated} == {""}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", ["line 1: found the columns none"]),
        ("what,points,of\na,1,2\n", ["line 1: found the columns what, points, of"]),
        ("what,score\na,1\n", ["line 1: found the columns what, score"]),
        ("what,score,of\na,6,5\n,1,5\n", ["line 2, key score: found '6'", "line 3, key what"]),
        ("what,score,of\na,nan,5\na,1,0\n", ["line 2, key score", "line 3, key of: found '0'"]),
        ("what,score,of\na,1,5,more\n", ["line 2: found 4 cells; allowed: 3"]),
        ('what,score,of\n"a,1,5\n', ["found no table"]),
    ],
)
def test_each_fault_is_one_sentence(
    whole_case: Any,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    text: str,
    told: list[str],
) -> None:
    """All of a sheet's at once, with their lines, and nothing is shown."""
    path = tmp_path / "sheet.csv"
    path.write_text(text, encoding="utf-8")
    assert main(["debrief", str(whole_case.folder), "--ratings", str(path)]) == 2
    printed = capsys.readouterr()
    sentences = printed.err.removeprefix("spoken-brief: ").splitlines()
    assert printed.out == ""
    assert len(sentences) == len(told)
    assert all(one in sentence for one, sentence in zip(told, sentences, strict=True))


def test_what_shows_no_ratings_takes_none(
    whole_case: Any, sheet: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Rather than leaving them out without a word."""
    for how in ("--csv", "--aloud", "--verify", "--follow", "--all"):
        assert main(["debrief", str(whole_case.folder), "--ratings", str(sheet), how]) == 2
        assert capsys.readouterr().err.count("\n") == 1
