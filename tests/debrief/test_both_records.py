"""Both records of a case, where disk or clock misbehaves: nothing is lost, and both verify."""

import json
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from assistant.clock import MonotonicClock, WallReading
from assistant.debrief.timeline import read_timeline
from assistant.debrief.verifying import verify_case
from assistant.journal import journal as journal_module
from assistant.journal.journal import FILE_NAME, Journal, read_case
from assistant.oximeter import record as record_module
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, row_now

ROOT = Path(__file__).parents[2]
BOTH = """
import json, os, subprocess, sys
from pathlib import Path
from assistant.clock import MonotonicClock
from assistant.debrief.verifying import verify_case
from assistant.journal.journal import Journal, read_case
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, row_now

folder, clock, told = Path(sys.argv[1]), MonotonicClock(), {}

def both(text):
    journal.append("team", "heard", text)
    record.add(row_now(clock.now_s(), "monotonic", "event", text, {}))
    return journal.lost, bool(record.fault)

def on_disk():
    watched = read_record(folder / RECORD_NAME).rows
    return [row.text for row in read_case(folder)[1]], [row.text for row in watched]
"""
ENDLESS = f"""{BOTH}
journal, record = Journal(folder, clock, "Tarn Hollow"), WatcherRecord(folder / RECORD_NAME)
for number in range(1_000_000):
    both(f"row {{number}}")
    print(number, flush=True)
"""
FULL = f"""{BOTH}
subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", folder], check=True)
journal, record = Journal(folder, clock, "Tarn Hollow"), WatcherRecord(folder / RECORD_NAME)
told["room"] = both("room")
ballast = (folder / "ballast").open("wb", buffering=0)
try:
    while True:
        ballast.write(bytes(512))
except OSError as fault:
    told["why"] = fault.strerror
for number in range(400):
    told["full"] = both(f"full {{number}}")
before, watched = on_disk()
told["some wait"] = len(before) < 401 and len(watched) < 401
(folder / "ballast").unlink()
ballast.close()
told["room again"] = both("room again")
rows = ["room", *(f"full {{number}}" for number in range(400)), "room again"]
told["all, in order"] = on_disk() == (rows, rows)
told["verified"] = verify_case(folder).faults
print(json.dumps(told))
"""
READ_ONLY = f"""{BOTH}
def mount(*how):
    subprocess.run(["mount", *how, "tmpfs", folder], check=True)

mount("-t", "tmpfs")
journal, record = Journal(folder, clock, "Tarn Hollow"), WatcherRecord(folder / RECORD_NAME)
both("before")
journal.close()
record.close()
mount("-o", "remount,ro")
told["waiting"] = both("meanwhile")
told["why"] = record.fault
told["read"] = on_disk()
told["verified"] = verify_case(folder).faults
mount("-o", "remount,rw")
both("after")
told["at last"] = on_disk()
told["verified at last"] = verify_case(folder).faults
print(json.dumps(told))
"""


def told_by(code: str, folder: Path) -> dict[str, Any]:
    """What the code prints, in a process with mounts of its own."""
    for prefix in (["unshare", "--mount"], ["unshare", "--map-root-user", "--mount"]):
        if subprocess.run([*prefix, "true"], check=False, capture_output=True).returncode == 0:
            break
    else:
        pytest.skip("no mounts of its own are to be had here")
    done = subprocess.run(
        [*prefix, sys.executable, "-c", code, str(folder)],
        check=False,
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    if "permission denied" in done.stderr.lower():
        pytest.skip("nothing may be mounted here")
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_a_kill_costs_neither_record_a_row(tmp_path: Path) -> None:
    """Every row that was acknowledged is in both, and both are as they were written."""
    writer = subprocess.Popen(
        [sys.executable, "-c", ENDLESS, str(tmp_path)], stdout=subprocess.PIPE, text=True, cwd=ROOT
    )
    assert writer.stdout is not None
    acknowledged = [int(writer.stdout.readline()) for _ in range(30)][-1]
    writer.send_signal(signal.SIGKILL)
    acknowledged = max([acknowledged, *map(int, writer.stdout.read().split())])
    writer.wait()
    said = [row.text for row in read_case(tmp_path)[1]]
    watched = [row.text for row in read_record(tmp_path / RECORD_NAME).rows]
    for texts in (said, watched):
        assert texts == [f"row {number}" for number in range(len(texts))]
        assert len(texts) > acknowledged
    assert verify_case(tmp_path).faults == ()


@pytest.mark.needs("util-linux")
def test_a_full_disk_costs_neither_record_a_row(tmp_path: Path) -> None:
    """A real file system without room: rows wait, and when there is room they follow in order."""
    assert told_by(FULL, tmp_path) == {
        "room": [False, False],
        "why": "No space left on device",
        "full": [True, True],
        "some wait": True,
        "room again": [False, False],
        "all, in order": True,
        "verified": [],
    }


@pytest.mark.needs("util-linux")
def test_a_card_that_is_read_only_for_a_while_costs_neither_record_a_row(tmp_path: Path) -> None:
    """It is read and verified as it is; what both had to write meanwhile follows."""
    assert told_by(READ_ONLY, tmp_path) == {
        "waiting": [True, True],
        "why": "Read-only file system",
        "read": [["before"], ["before"]],
        "verified": [],
        "at last": [["before", "meanwhile", "after"]] * 2,
        "verified at last": [],
    }


def test_a_wall_clock_that_is_stepped_by_hours_moves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Five hours on and nine back in the middle of a case: both records stay in order and whole,
    elapsed times are right, and the reader is told of each step. A reading stands in for the
    system's clock, which no test may set."""
    hours = iter((12, 12, 17, 17, 8, 8, 8))
    now = {"wall": WallReading("2026-03-01T12:00:00.000Z", trusted=True)}
    for module in (journal_module, record_module):
        monkeypatch.setattr(module, "read_wall", lambda: now["wall"])
    clock = MonotonicClock()
    journal, record = Journal(tmp_path, clock, "Tarn Hollow"), WatcherRecord(tmp_path / RECORD_NAME)
    began_s = journal.meta.started_mono_s
    for number, hour in enumerate(hours):
        now["wall"] = WallReading(f"2026-03-01T{hour:02}:00:0{number}.000Z", trusted=True)
        at_s = began_s + number
        journal.append("assistant", "said", f"line {number}", mono_s=at_s)
        record.add(row_now(at_s + 0.5, "monotonic", "event", f"event {number}", {}))
    timeline = read_timeline(tmp_path)
    assert [one.at_s for one in timeline.entries] == [number / 2 for number in range(14)]
    jumps = [note for note in timeline.notes if note.startswith("The wall clock jumped by")]
    assert [note.split()[5] for note in jumps] == ["+18000", "-32400"]
    assert verify_case(tmp_path).faults == ()


def test_neither_record_waits_for_a_lock_on_the_other(tmp_path: Path) -> None:
    """Why the watcher has a file of its own: whoever holds the base locked, be it a process that
    was stopped in the middle of a transaction, keeps no call from its record."""
    clock = MonotonicClock()
    journal, record = Journal(tmp_path, clock, "Tarn Hollow"), WatcherRecord(tmp_path / RECORD_NAME)
    with closing(sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        record.add(row_now(clock.now_s(), "monotonic", "said", "Saturation ninety-three.", {}))
        assert record.fault == ""
        assert [row.kind for row in read_record(tmp_path / RECORD_NAME).rows] == ["said"]
        journal.append("team", "heard", "the attempt failed")
        assert journal.lost
    journal.append("team", "heard", "bagging")
    assert not journal.lost
    assert verify_case(tmp_path).faults == ()
