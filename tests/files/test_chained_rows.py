"""Rows of a record where the disk fails, fills up, or is another one."""

from pathlib import Path

from assistant.files.chained_rows import ChainedRows
from assistant.files.rows_read_back import read_rows, verify_rows

COLUMNS = {"text": "TEXT"}


def texts(path: Path) -> list[object]:
    """What another process reads."""
    _, rows = read_rows(path, COLUMNS, 0)
    return [text for (text,) in rows]


def test_the_first_row_after_a_full_disk_brings_those_that_waited(tmp_path: Path) -> None:
    """At once, and in their order: whoever is killed then has lost none."""
    rows = ChainedRows(tmp_path / "record", COLUMNS)
    rows.add(["first"])
    (pages,) = rows.open().execute("PRAGMA page_count").fetchone()
    rows.open().execute(f"PRAGMA max_page_count = {pages}")
    rows.add(["long" * 20_000])
    assert "full" in rows.fault

    rows.open().execute("PRAGMA max_page_count = 10000")
    rows.add(["third"])
    assert rows.fault == ""
    assert texts(tmp_path / "record") == ["first", "long" * 20_000, "third"]
    assert verify_rows(tmp_path / "record", COLUMNS).faults == ()


def test_a_card_that_was_changed_is_written_to(tmp_path: Path) -> None:
    """Another file of that name is there: no row goes to the one that was taken away."""
    path, taken_away = tmp_path / "record", tmp_path / "taken away"
    rows = ChainedRows(path, COLUMNS)
    rows.add(["of the first card"])
    path.rename(taken_away)
    ChainedRows(path, COLUMNS).add(["of the second card"])

    rows.add(["later"])
    assert rows.fault == ""
    assert texts(path) == ["of the second card", "later"]
