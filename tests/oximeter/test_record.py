"""The watcher's file of a case: whole lines, and nothing lost by a torn one."""

import json
from pathlib import Path

import pytest

from assistant.oximeter.record import (
    BackgroundRecord,
    ReadRecord,
    WatcherRecord,
    WatcherRow,
    read_record,
    row_now,
)


def row(number: int) -> WatcherRow:
    return row_now(float(number), "monotonic", "event", "saturation", {"spo2_percent": 90 + number})


def test_rows_are_read_back(tmp_path: Path) -> None:
    """One JSON object per line, with the agreed keys, and the same rows when read."""
    path, rows = tmp_path / "watcher.jsonl", [row(number) for number in range(5)]
    record = WatcherRecord(path)
    for one in rows:
        record.add(one)

    assert read_record(path) == ReadRecord(tuple(rows), bad_lines=0)
    keys = ["at_s", "wall", "wall_trusted", "boot_id", "clock", "kind", "text", "data", "link"]
    assert [list(json.loads(line)) for line in path.read_text().splitlines()] == [keys] * 5


def test_no_file_is_an_empty_record(tmp_path: Path) -> None:
    """A case without a watcher has no rows and no bad lines."""
    assert read_record(tmp_path / "watcher.jsonl") == ReadRecord((), 0)


@pytest.mark.parametrize("cut", [1, 20, 60])
def test_a_torn_tail_costs_only_itself(tmp_path: Path, cut: int) -> None:
    """After a power cut within a line, that line is bad; what is appended later is whole."""
    path, rows = tmp_path / "watcher.jsonl", [row(number) for number in range(4)]
    first = WatcherRecord(path)
    for one in rows[:3]:
        first.add(one)
    first.close()
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) - cut])

    again = WatcherRecord(path)
    again.add(rows[3])
    read = read_record(path)

    kept = rows[:3] if cut == 1 else rows[:2]  # only the line's end was cut off
    assert read == ReadRecord((*kept, rows[3]), bad_lines=0 if cut == 1 else 1)


def test_lines_that_are_no_rows_are_counted(tmp_path: Path) -> None:
    """Whatever else is in the file is counted, not read and not raised."""
    path = tmp_path / "watcher.jsonl"
    path.write_bytes(b'{"at_s": 1}\n[]\n\xff\xfe\n7\n\n')

    assert read_record(path) == ReadRecord((), bad_lines=4)


def test_a_disk_that_comes_back_gets_everything(tmp_path: Path) -> None:
    """While the folder is gone rows are kept; when it is back they are written, in order."""
    folder, rows = tmp_path / "case", [row(number) for number in range(3)]
    record = WatcherRecord(folder / "watcher.jsonl")
    record.add(rows[0])
    record.add(rows[1])

    assert record.fault == "No such file or directory"

    folder.mkdir()
    record.add(rows[2])

    assert record.fault == ""
    assert read_record(folder / "watcher.jsonl").rows == tuple(rows)


def test_the_background_writes_all_before_it_ends(tmp_path: Path) -> None:
    """Rows handed to the thread are on disk when it is closed."""
    path, rows = tmp_path / "watcher.jsonl", [row(number) for number in range(200)]
    record = BackgroundRecord(WatcherRecord(path))
    for one in rows:
        record.add(one)
    record.close(patience_s=30)

    assert read_record(path).rows == tuple(rows)
