"""All cases as one Parquet file."""

import shutil
import sys
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.debrief.comparing import case_figures
from assistant.debrief.definitions import DEFINITIONS


@pytest.fixture
def cases(whole_case, tmp_path: Path) -> Path:
    """The whole case, twice."""
    for name in ("one", "two"):
        shutil.copytree(whole_case.folder, tmp_path / "cases" / name)
    return tmp_path / "cases"


@pytest.mark.needs("pyarrow")
def test_a_row_a_case_and_a_column_a_measure(cases: Path, tmp_path: Path) -> None:
    """Read back they are what was measured; what a column means stands with it."""
    import pyarrow.parquet as pq

    path = tmp_path / "all.parquet"
    assert main(["debrief", "--all", str(cases), "--parquet", str(path)]) == 0
    assert path.stat().st_mode & 0o077 == 0
    table = pq.read_table(path)
    assert table.column_names == ["case", "started_wall", "site", "rehearsal", *DEFINITIONS]
    rows = table.to_pylist()
    right = case_figures(cases / "one")
    assert [row["rehearsal"] for row in rows] == [True, True]
    for name in DEFINITIONS:
        assert [row[name] for row in rows] == [right.values.get(name)] * 2
    told = table.schema.field("low_s").metadata
    assert told[b"unit"] == b"s"
    assert told[b"means"].decode() == DEFINITIONS["low_s"].means


def test_without_its_library_one_sentence_says_what_to_install(
    cases: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """And nothing is written; all else of the debrief works."""
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    path = tmp_path / "all.parquet"
    assert main(["debrief", "--all", str(cases), "--parquet", str(path)]) == 2
    told = capsys.readouterr().err
    assert "[parquet]" in told
    assert told.count("\n") == 1
    assert not path.exists()
    assert main(["debrief", "--all", str(cases), "--csv"]) == 0


def test_one_case_alone_is_refused(
    cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A table of one row is no comparison."""
    assert main(["debrief", str(cases / "one"), "--parquet", str(tmp_path / "x")]) == 2
    assert "allowed: with --all" in capsys.readouterr().err
