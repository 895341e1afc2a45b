"""Cases on file systems without room or read-only: kept in memory, and brought home."""

from pathlib import Path
from textwrap import indent

import pytest

from tests.debrief.test_both_records import told_by

pytestmark = pytest.mark.needs("util-linux")
BEGINNING = """
import json, os, signal, subprocess, sys
from pathlib import Path
from assistant.clock import MonotonicClock
from assistant.debrief.verifying import verify_case
from assistant.journal.at_hand import (
    case_at_hand, folder_at_hand, memory_of, take_in_hand, unfinished_case)
from assistant.journal.in_memory import settle
from assistant.journal.journal import read_case
from assistant.live.opening import begin_case
from assistant.live.resuming import resume_case
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, row_now
from assistant.site.site import read_site

cases, clock, told = Path(sys.argv[1]) / "cases", MonotonicClock(), {}
memory, site = memory_of(cases), read_site(Path("configs/tarn-hollow"))

def mount(*how):
    subprocess.run(["mount", *how, "tmpfs", cases], check=True)

def killed(does):
    child = os.fork()
    if child == 0:
        does()
        os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)

def begins():
    new = begin_case(cases, site, clock)
    take_in_hand(cases, new.folder)
    adds(new.opened.journal, "begun")

def goes_on():
    adds(resume_case(case_at_hand(cases), clock).journal, "gone on")

def adds(journal, text):
    journal.append("team", "heard", text)
    watched = WatcherRecord(folder_at_hand(cases) / RECORD_NAME)
    watched.add(row_now(clock.now_s(), "monotonic", "event", text, {}))
    told[text] = journal.lost or bool(watched.fault)

def there(folder):
    return [one.name for one in folder.iterdir() if one.is_dir() and not one.is_symlink()]
"""
SPOILT = f"""{BEGINNING}
SPOIL
told["on the disk"] = settle(cases, unfinished_case(cases))
told["stands in"] = folder_at_hand(cases) == memory / "idle"
killed(begins)
told["left behind"] = there(cases)
told["on the disk yet"] = settle(cases, unfinished_case(cases))
killed(goes_on)
MEND
told["on the disk now"] = settle(cases, unfinished_case(cases))
home = case_at_hand(cases)
told["home"] = home.parent == cases
goes_on()
told["rows"] = [row.text for row in read_case(home)[1]]
told["watched"] = [row.text for row in read_record(home / RECORD_NAME).rows]
told["faults"] = verify_case(home).faults
told["in memory still"] = [name for name in there(memory) if name != "idle"]
told["no others"] = [name for name in there(cases)] == [home.name]
print(json.dumps(told))
"""
CUT_SHORT = f"""{BEGINNING}
mount("-t", "tmpfs")
killed(begins)
mount("-o", "remount,ro")
told["on the disk"] = settle(cases, unfinished_case(cases))
told["in memory"] = case_at_hand(cases).parent == memory
goes_on()
told["at the end"] = settle(cases, None)
told["at hand then"] = case_at_hand(cases)
mount("-o", "remount,rw")
told["on the disk now"] = settle(cases, None)
(home,) = [cases / name for name in there(cases)]
told["rows"] = [row.text for row in read_case(home)[1]]
told["watched"] = [row.text for row in read_record(home / RECORD_NAME).rows]
told["faults"] = verify_case(home).faults
told["at hand"] = case_at_hand(cases)
print(json.dumps(told))
"""
FILLED_MEANWHILE = f"""{BEGINNING}
from tests.live.test_session import Room
mount("-t", "tmpfs", "-o", "size=2m")

def fills():
    room = Room(cases)
    room.open_a_case()
FULL
    journal = room.session._now.opened.journal
    for number in range(400):
        journal.append("team", "heard", f"row {{number}}")
    assert journal.lost
    ENDS

killed(fills)
told["in memory"] = case_at_hand(cases).parent == memory
ROOM
again = Room(cases)
home = case_at_hand(cases)
told["home"] = home.parent == cases
rows = [row.text for row in read_case(home)[1] if row.text.startswith("row ")]
told["all, in order"] = rows == [f"row {{number}}" for number in range(400)]
told["faults"] = verify_case(home).faults
print(json.dumps(told))
"""
FULL = """mount("-t", "tmpfs", "-o", "size=900k")
ballast = (cases / "ballast").open("wb", buffering=0)
try:
    while True:
        ballast.write(bytes(4096))
except OSError:
    ballast.close()
"""
ROOM = '(cases / "ballast").unlink()'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Of the cases, and of what stands for the machine's memory."""
    (tmp_path / "cases").mkdir()
    (tmp_path / "memory").mkdir()
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "memory"))
    return tmp_path


@pytest.mark.parametrize(
    ("spoil", "mend"),
    [(FULL, ROOM), ('mount("-t", "tmpfs", "-o", "ro")', 'mount("-o", "remount,rw")')],
    ids=["full", "read-only"],
)
def test_a_case_without_a_disk_outlives_kills_and_comes_home(
    folder: Path, spoil: str, mend: str
) -> None:
    """Begun in memory, killed, gone on with there, killed, brought home and gone on with: both
    records have every row and verify, and nothing half begun is left behind anywhere."""
    assert told_by(SPOILT.replace("SPOIL", spoil).replace("MEND", mend), folder) == {
        "on the disk": False,
        "stands in": True,
        "left behind": [],
        "on the disk yet": False,
        "on the disk now": True,
        "home": True,
        "gone on": False,
        "rows": ["begun", "gone on", "gone on"],
        "watched": ["begun", "gone on", "gone on"],
        "faults": [],
        "in memory still": [],
        "no others": True,
    }


def test_a_case_whose_card_came_back_read_only_is_gone_on_with(folder: Path) -> None:
    """Cut short on a disk that takes no more: it goes on in memory, does not come back when it has
    ended, and at last is whole in its place."""
    assert told_by(CUT_SHORT, folder) == {
        "on the disk": False,
        "in memory": True,
        "gone on": False,
        "at the end": False,
        "at hand then": None,
        "on the disk now": True,
        "rows": ["begun", "gone on"],
        "watched": ["begun", "gone on"],
        "faults": [],
        "at hand": None,
    }


@pytest.mark.parametrize("ends", ["room.session.run(lambda: True)", "room.wait(12.0)"])
def test_what_a_disk_did_not_take_of_a_case_outlives_the_program(folder: Path, ends: str) -> None:
    """Full in the middle of a case: stopped at once, or killed some seconds later, every row is
    there when it is started again with room on the disk."""
    full = indent(FULL.partition("\n")[2], "    ")
    script = FILLED_MEANWHILE.replace("FULL", full).replace("ENDS", ends).replace("ROOM", ROOM)
    assert told_by(script, folder) == {
        "in memory": True,
        "home": True,
        "all, in order": True,
        "faults": [],
    }
