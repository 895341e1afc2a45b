"""The record of a case: on disk when `append` returns, whatever happens next."""

import json
import signal
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.brief.case import Case
from assistant.clock import MonotonicClock, SoundClock, WallReading, boot_id
from assistant.errors import BadInput
from assistant.journal import journal as journal_module
from assistant.journal.journal import FILE_NAME, Journal, read_case
from tests.tarn_hollow import SITE

ROOT = Path(__file__).parents[2]

ENDLESS_WRITER = """
import sys
from pathlib import Path
from assistant.clock import MonotonicClock
from assistant.journal.journal import Journal
journal = Journal(Path(sys.argv[1]), MonotonicClock(), "Tarn Hollow")
for number in range(1_000_000):
    journal.append("team", "heard", f"utterance {number}")
    print(number, flush=True)
"""

READER = """
import json, os, sys
from pathlib import Path
from assistant.journal.journal import read_case
from assistant.journal.journal import verify_journal
folder = Path(sys.argv[1])
assert not os.access(folder, os.W_OK)
print(json.dumps([len(read_case(folder)[1]), verify_journal(folder).faults]))
"""


def python(code: str, folder: Path) -> subprocess.Popen[str]:
    """A process of its own that runs the code with the folder as its argument."""
    return subprocess.Popen(
        [sys.executable, "-c", code, str(folder)], stdout=subprocess.PIPE, text=True, cwd=ROOT
    )


def test_rows_outlive_the_process_that_is_killed(tmp_path: Path) -> None:
    """After SIGKILL every row whose `append` had returned is there, in order, without a gap.

    This is the kill of a process; for the loss of power see the next test's pragmas.
    """
    writer = python(ENDLESS_WRITER, tmp_path)
    assert writer.stdout is not None
    acknowledged = [int(writer.stdout.readline()) for _ in range(40)][-1]
    writer.send_signal(signal.SIGKILL)
    acknowledged = max([acknowledged, *map(int, writer.stdout.read().split())])
    assert writer.wait() == -signal.SIGKILL
    texts = [row.text for row in read_case(tmp_path)[1]]
    assert len(texts) > acknowledged
    assert texts == [f"utterance {number}" for number in range(len(texts))]


def test_the_base_is_set_to_outlive_a_loss_of_power(tmp_path: Path) -> None:
    """WAL with synchronous FULL, which the SQLite manual calls durable across a loss of power
    (https://www.sqlite.org/pragma.html#pragma_synchronous: FULL is 2)."""
    journal = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    assert journal._rows.open().execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert journal._rows.open().execute("PRAGMA synchronous").fetchone() == (2,)
    journal.close()


def test_a_reader_never_holds_up_the_writer(tmp_path: Path) -> None:
    """Somebody who reads the case while it runs costs it no row."""
    journal = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    journal.append("team", "heard", "before")
    reader = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
    reader.execute("BEGIN")
    assert reader.execute("SELECT count(*) FROM rows").fetchone() == (1,)
    journal.append("team", "heard", "meanwhile")
    assert not journal.lost
    reader.close()
    assert [row.text for row in read_case(tmp_path)[1]] == ["before", "meanwhile"]


def test_a_base_that_is_locked_keeps_rows_waiting(tmp_path: Path) -> None:
    """A foreign writer's lock is like a full disk: rows wait, in order, and are not lost."""
    journal = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    other = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    journal.append("team", "heard", "one")
    assert journal.lost
    other.close()
    journal.append("team", "heard", "two")
    assert not journal.lost
    assert [row.text for row in read_case(tmp_path)[1]] == ["one", "two"]


def test_a_row_comes_back_as_it_was_written(tmp_path: Path) -> None:
    """Every field of a row survives the way to disk and back."""
    clock = SoundClock()
    clock.move_to(12.5)
    journal = Journal(tmp_path, clock, "Tarn Hollow")
    data = {"verdict": "accept", "values": {"number": 80}, "ended_s": 13.0, "why": "ärgerlich"}
    written = journal.append(
        "team",
        "heard",
        "eighty kilos",
        meaning="number",
        item="weight",
        confidence=0.875,
        data=data,
        mono_s=12.25,
    )
    bare = journal.append("clock", "event", "drugs in: counting")
    assert read_case(tmp_path)[1] == (written, bare)
    assert (written.mono_s, written.confidence, written.data) == (12.25, 0.875, data)
    assert (bare.mono_s, bare.meaning, bare.item, bare.confidence) == (12.5, None, None, None)


def test_rows_keep_the_order_in_which_they_were_written(tmp_path: Path) -> None:
    """An utterance is dated from its beginning, but its row stays where it was written."""
    clock = SoundClock()
    journal = Journal(tmp_path, clock, "Tarn Hollow")
    clock.move_to(5.0)
    journal.append("clock", "event", "a clock ends")
    journal.append("team", "heard", "began before that", mono_s=4.0)
    rows = read_case(tmp_path)[1]
    assert [(row.text, row.mono_s) for row in rows] == [
        ("a clock ends", 5.0),
        ("began before that", 4.0),
    ]


def test_the_meta_says_which_clock_and_which_boot(tmp_path: Path) -> None:
    """A case carries its name, its site, its clock, and the boot within which its times compare."""
    clock = SoundClock()
    clock.move_to(3.0)
    journal = Journal(tmp_path, clock, "Tarn Hollow airway brief")
    meta = read_case(tmp_path)[0]
    assert meta == journal.meta
    assert (meta.case, meta.site) == (tmp_path.name, "Tarn Hollow airway brief")
    assert (meta.clock, meta.started_mono_s) == ("sound", 3.0)
    assert meta.boot == boot_id()


def test_each_row_carries_the_trust_of_the_wall_clock_at_that_moment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A Pi that finds the time in the middle of a case says so row by row, not once for all."""
    readings = [
        WallReading("1970-01-01T00:00:01.000Z", trusted=False),
        WallReading("1970-01-01T00:00:02.000Z", trusted=False),
        WallReading("2026-03-01T10:00:00.000Z", trusted=True),
    ]
    monkeypatch.setattr(journal_module, "read_wall", lambda: readings.pop(0))
    journal = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    journal.append("team", "heard", "before")
    journal.append("team", "heard", "after")
    meta, rows = read_case(tmp_path)
    assert not meta.started_wall_trusted
    assert [row.wall_trusted for row in rows] == [False, True]
    assert rows[1].wall == "2026-03-01T10:00:00.000Z"


def test_wall_times_are_rfc_3339_in_utc(tmp_path: Path) -> None:
    """RFC 3339, section 5.6: a full date, T, milliseconds and Z; and it is the present."""
    before = datetime.now(UTC).timestamp()
    row = Journal(tmp_path, MonotonicClock(), "Tarn Hollow").append("team", "heard", "yes")
    assert row.wall.endswith("Z")
    assert row.wall[10] == "T"
    read = datetime.fromisoformat(row.wall)
    assert before - 0.001 <= read.timestamp() <= datetime.now(UTC).timestamp()


def test_a_folder_takes_one_case_only(tmp_path: Path) -> None:
    """A second case cannot be written over the first one's record."""
    first = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    first.append("team", "heard", "mine")
    first.close()
    with pytest.raises(BadInput, match="no case can be recorded"):
        Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    assert [row.text for row in read_case(tmp_path)[1]] == ["mine"]


def test_a_closed_case_is_one_file(tmp_path: Path) -> None:
    """After `close` the write-ahead log is folded in: one file to copy holds all of it."""
    journal = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    journal.append("team", "heard", "yes")
    journal.close()
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]
    assert len(read_case(tmp_path)[1]) == 1


def test_a_folder_without_a_case_is_refused(tmp_path: Path) -> None:
    """An empty folder, no folder at all, and a file that is no record: one sentence each."""
    with pytest.raises(BadInput, match="found no case"):
        read_case(tmp_path)
    with pytest.raises(BadInput, match="found no case"):
        read_case(tmp_path / "nowhere")
    (tmp_path / FILE_NAME).write_text("this is not a base " * 100, encoding="utf-8")
    with pytest.raises(BadInput, match="a record that cannot be read"):
        read_case(tmp_path)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("mono_s", b"\x00"),
        ("mono_s", 1e308),
        ("who", b"x"),
        ("who", "nobody"),
        ("confidence", "much"),
        ("data", "[1]"),
        ("data", "{"),
    ],
)
def test_a_damaged_row_is_told_in_its_place(tmp_path: Path, column: str, value: object) -> None:
    """The others are read; whoever reads the case leaves that one out, and tells of it."""
    journal = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    for text in ("one", "two", "three"):
        journal.append("team", "heard", text)
    journal.close()
    with sqlite3.connect(tmp_path / FILE_NAME) as base:
        base.execute(f"UPDATE rows SET {column} = ? WHERE text = 'two'", (value,))  # noqa: S608
    rows = read_case(tmp_path)[1]
    assert [row.text for row in rows] == ["one", "a row that cannot be read", "three"]
    case = Case.rebuilt(SITE.brief, rows)
    assert len(case.unread) == 1


def test_damaged_meta_are_a_record_that_cannot_be_read(tmp_path: Path) -> None:
    """One sentence."""
    Journal(tmp_path, MonotonicClock(), "Tarn Hollow").close()
    with sqlite3.connect(tmp_path / FILE_NAME) as base:
        base.execute("UPDATE meta SET value = 'null' WHERE key = 'started_mono_s'")
    with pytest.raises(BadInput, match="a record that cannot be read"):
        read_case(tmp_path)


@pytest.mark.needs("util-linux")
def test_a_case_that_was_cut_off_is_read_on_a_card_that_is_write_protected(tmp_path: Path) -> None:
    """Its log was never folded in, and here it cannot be: all rows are read and verified all the
    same, and nothing is written."""
    writer = python(ENDLESS_WRITER, tmp_path)
    assert writer.stdout is not None
    acknowledged = [int(writer.stdout.readline()) for _ in range(5)][-1]
    writer.kill()
    writer.wait()
    protect = 'mount --bind "$1" "$1" && mount -o remount,ro,bind "$1" && exec "$2" -c "$3" "$1"'
    read = [*("sh", "-c", protect, "sh", str(tmp_path), sys.executable), READER]
    for prefix in (["unshare", "--mount"], ["unshare", "--map-root-user", "--mount"]):
        done = subprocess.run(
            [*prefix, *read], capture_output=True, text=True, cwd=ROOT, check=False
        )
        if done.returncode == 0:
            rows, faults = json.loads(done.stdout)
            assert (rows > acknowledged, faults) == (True, [])
            return
    pytest.skip(f"this machine protects no folder for us: {done.stderr.strip()}")
