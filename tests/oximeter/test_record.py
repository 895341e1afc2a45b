"""The watcher's record of a case: each row on disk, and none lost by what befalls a disk."""

import shutil
import sqlite3
import stat
import threading
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.oximeter.reading import ReadRecord, read_record, verify_record
from assistant.oximeter.record import (
    RECORD_NAME,
    BackgroundRecord,
    WatcherRecord,
    WatcherRow,
    row_now,
)

OLDER = Path(__file__).parent / "older_version" / "watcher.jsonl"
"""Five rows as the program wrote them before the record was a base."""


def row(number: int) -> WatcherRow:
    return row_now(float(number), "monotonic", "event", "saturation", {"spo2_percent": 90 + number})


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / RECORD_NAME


@pytest.fixture
def older(path: Path) -> Path:
    """A record of an older version; the file of it."""
    return Path(shutil.copyfile(OLDER, path.with_suffix(".jsonl")))


def test_rows_are_read_back(path: Path) -> None:
    """While it is written and after, the same rows in the same order, for their owner only."""
    rows = [row(number) for number in range(5)]
    record = WatcherRecord(path)
    for one in rows:
        record.add(one)

    assert read_record(path) == ReadRecord(tuple(rows), bad=0)
    assert {stat.S_IMODE(one.stat().st_mode) for one in path.parent.iterdir()} == {0o600}
    record.close()
    assert [one.name for one in path.parent.iterdir()] == [RECORD_NAME]
    assert read_record(path) == ReadRecord(tuple(rows), bad=0)
    assert verify_record(path).rows == 5


def test_no_file_is_an_empty_record(path: Path) -> None:
    """A case without a watcher has no rows and no bad ones."""
    assert read_record(path) == ReadRecord((), 0)
    assert verify_record(path).faults == ()


def test_a_log_that_a_power_cut_tore_costs_only_its_end(path: Path, tmp_path: Path) -> None:
    """Wherever it was cut off: what is left are the first rows, whole, and the record goes on."""
    record = WatcherRecord(path)
    rows = [row(number) for number in range(3)]
    for one in rows:
        record.add(one)
    log = path.with_name(f"{path.name}-wal").read_bytes()
    for cut in range(0, len(log), 997):
        folder = tmp_path / str(cut)
        folder.mkdir()
        torn = folder / path.name
        shutil.copyfile(path, torn)
        torn.with_name(f"{path.name}-wal").write_bytes(log[: len(log) - cut])
        left = read_record(torn).rows
        again = WatcherRecord(torn)
        again.add(row(9))
        found = read_record(torn).rows
        assert found[: len(left)] == left == tuple(rows[: len(left)])
        assert found[-1].at_s == 9.0
        assert verify_record(torn).faults == ()


def test_rows_that_make_no_sense_are_counted(path: Path) -> None:
    """Somebody altered them: they are left out, told, and the rest is read."""
    record = WatcherRecord(path)
    for number in range(4):
        record.add(row(number))
    record.close()
    with closing(sqlite3.connect(path, isolation_level=None)) as base:
        base.execute("UPDATE rows SET data = 'no JSON' WHERE seq = 1")
        base.execute("UPDATE rows SET data = '[]' WHERE seq = 2")
        base.execute("UPDATE rows SET kind = 'other' WHERE seq = 3")
    read = read_record(path)
    assert ([one.at_s for one in read.rows], read.bad) == ([3.0], 3)


def test_a_disk_that_comes_back_gets_everything(tmp_path: Path) -> None:
    """While the folder is gone rows are kept; when it is back they are written, in order."""
    folder, rows = tmp_path / "case", [row(number) for number in range(3)]
    record = WatcherRecord(folder / RECORD_NAME)
    record.add(rows[0])
    record.add(rows[1])

    assert record.fault == "No such file or directory"

    folder.mkdir()
    record.add(rows[2])

    assert record.fault == ""
    assert read_record(folder / RECORD_NAME).rows == tuple(rows)


def test_a_record_that_went_away_is_begun_anew(tmp_path: Path) -> None:
    """As with a card that was pulled and put back empty: no row goes into the void."""
    folder = tmp_path / "case"
    folder.mkdir()
    record = WatcherRecord(folder / RECORD_NAME)
    record.add(row(0))
    shutil.rmtree(folder)
    record.add(row(1))
    assert record.fault
    folder.mkdir()
    record.add(row(2))
    assert [one.at_s for one in read_record(folder / RECORD_NAME).rows] == [1.0, 2.0]
    assert verify_record(folder / RECORD_NAME).faults == ()


def test_a_record_that_moves_takes_along_what_waits(tmp_path: Path) -> None:
    """The disk took no more, and the case goes on elsewhere."""
    record = WatcherRecord(tmp_path / "gone" / RECORD_NAME)
    record.add(row(0))
    assert record.fault
    record.move(tmp_path / RECORD_NAME)
    record.add(row(1))
    assert [one.at_s for one in read_record(tmp_path / RECORD_NAME).rows] == [0.0, 1.0]


def test_two_who_write_go_on_with_one_chain(path: Path) -> None:
    """As two terminals of a facilitator's do: each row is linked to the other's last one."""
    one, other = WatcherRecord(path), WatcherRecord(path)
    for number in range(4):
        (one, other)[number % 2].add(row(number))
    assert [found.at_s for found in read_record(path).rows] == [0.0, 1.0, 2.0, 3.0]
    assert verify_record(path).faults == ()


def test_the_background_writes_all_before_it_ends(path: Path) -> None:
    """Rows handed to the thread are on disk when it is closed."""
    rows = [row(number) for number in range(200)]
    record = BackgroundRecord(WatcherRecord(path))
    for one in rows:
        record.add(one)
    record.close(patience_s=30)

    assert read_record(path).rows == tuple(rows)


@pytest.mark.parametrize("spoilt", [{"text": "no \udcff name"}, {"data": {"raw": b"\xff"}}])
def test_a_row_that_is_no_text_is_written_as_far_as_it_is(path: Path, spoilt: dict) -> None:
    """A device may be called anything; no other row waits for it."""
    record = BackgroundRecord(WatcherRecord(path))
    for one in (row(0), replace(row(1), **spoilt), row(2)):
        record.add(one)
    record.close(patience_s=30)

    assert [one.at_s for one in read_record(path).rows] == [0.0, 1.0, 2.0]
    assert record.fault == ""
    assert verify_record(path).faults == ()


def test_a_fault_that_nobody_foresaw_costs_one_row(path: Path) -> None:
    """The thread goes on, says why, and what follows is on disk."""
    written = threading.Event()

    class Failing(WatcherRecord):
        def add(self, row: WatcherRow) -> None:
            if row.at_s == 1.0:
                written.set()
                raise RuntimeError("as never before")
            super().add(row)

    record = BackgroundRecord(Failing(path))
    record.add(row(0))
    record.add(row(1))
    assert written.wait(30)
    for number in range(2, 50):
        record.add(row(number))
    record.close(patience_s=30)

    assert [one.at_s for one in read_record(path).rows] == [0.0, *map(float, range(2, 50))]


def test_an_older_versions_record_is_read_and_verified(path: Path, older: Path) -> None:
    """A line of JSON a row: five of them, whole."""
    read = read_record(path)
    assert [one.at_s for one in read.rows] == [0.0, 1.0, 2.0, 3.0, 4.0]
    assert (read.rows[3].kind, read.rows[3].data["level_percent"], read.bad) == ("said", 93, 0)
    verified = verify_record(path)
    assert (verified.rows, verified.unlinked, verified.faults) == (5, 0, ())
    assert verified.seal.encode() in older.read_bytes().splitlines()[-1]


def test_a_case_of_an_older_version_is_gone_on_with(path: Path, older: Path) -> None:
    """Its lines come first; both files are vouched for, by one seal, and neither alters unseen."""
    before = verify_record(path).seal
    record = WatcherRecord(path)
    record.add(row(7))
    record.close()
    assert [one.at_s for one in read_record(path).rows] == [0.0, 1.0, 2.0, 3.0, 4.0, 7.0]
    both = verify_record(path)
    assert (both.rows, both.faults) == (6, ())
    older.write_bytes(b"".join(OLDER.read_bytes().splitlines(keepends=True)[:4]))
    assert len({before, both.seal, verify_record(path).seal}) == 3
    shutil.copyfile(OLDER, older)
    with closing(sqlite3.connect(path, isolation_level=None)) as base:
        base.execute("UPDATE rows SET text = 'other'")
    assert verify_record(path).faults != ()


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_changed_byte_of_an_older_versions_file_shows(
    tmp_path_factory: pytest.TempPathFactory, data
) -> None:
    """Whichever byte of the file it is but the last line's end, and whatever it becomes."""
    before = OLDER.read_bytes()
    at = data.draw(st.integers(0, len(before) - 2))
    byte = data.draw(st.integers(0, 255).filter(lambda one: one != before[at]))
    path = tmp_path_factory.getbasetemp() / RECORD_NAME
    path.with_suffix(".jsonl").write_bytes(before[:at] + bytes([byte]) + before[at + 1 :])
    assert verify_record(path).faults != ()


def test_lines_of_an_older_version_dropped_or_put_elsewhere_show(path: Path, older: Path) -> None:
    """Any but the last, which a power cut may have taken as well; one twice is one."""
    lines = OLDER.read_bytes().splitlines(keepends=True)
    for gone in range(4):
        older.write_bytes(b"".join(lines[:gone] + lines[gone + 1 :]))
        assert verify_record(path).faults != ()
    older.write_bytes(b"".join([lines[1], lines[0], *lines[2:]]))
    assert verify_record(path).faults != ()
    older.write_bytes(b"".join([*lines[:3], lines[2], *lines[3:]]))  # its sync had failed
    assert verify_record(path).faults == ()
    assert len(read_record(path).rows) == 5


def test_a_torn_line_of_an_older_version_costs_only_itself(path: Path, older: Path) -> None:
    """It is told once, whatever is in it, and the rest is read and vouched for."""
    whole = OLDER.read_bytes()
    for torn in (whole[:-20], whole + b'{"at_s": 1}\n', whole + b"[]\n", whole + b"\xff\xfe\n"):
        older.write_bytes(torn)
        read = read_record(path)
        assert (len(read.rows), read.bad) == (4 if torn == whole[:-20] else 5, 1)
        assert len(verify_record(path).faults) == 1
