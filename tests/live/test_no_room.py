"""A new case on a real file system that has no room or is read-only: it is begun in memory."""

from pathlib import Path

import pytest

from tests.debrief.test_both_records import told_by

CODE = """
import json, subprocess, sys
from pathlib import Path
from assistant.clock import MonotonicClock
from assistant.debrief.verifying import verify_case
from assistant.journal.journal import read_case
from assistant.live.opening import begin_case, bring_home
from assistant.site.site import read_site

cases, clock, told = Path(sys.argv[1]), MonotonicClock(), {{}}
site = read_site(Path("configs/tarn-hollow"))
def mount(*how):
    subprocess.run(["mount", *how, "tmpfs", cases], check=True)
{spoil}
new = begin_case(cases, site, clock)
new.opened.journal.append("team", "heard", "begin")
told["in memory"] = new.in_memory
told["lost"] = new.opened.journal.lost
told["left behind"] = [one.name for one in cases.iterdir() if one.is_dir()]
new.opened.journal.close()
bring_home(new, cases)
told["not yet"] = (new.folder.is_dir(), [one.name for one in cases.iterdir() if one.is_dir()])
{mend}
bring_home(new, cases)
home = cases / new.folder.name
told["home"] = [row.text for row in read_case(home)[1]], verify_case(home).faults
told["gone"] = new.folder.exists()
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


@pytest.mark.needs("util-linux")
@pytest.mark.parametrize(
    ("spoil", "mend"),
    [(FULL, ROOM), ('mount("-t", "tmpfs", "-o", "ro")', 'mount("-o", "remount,rw")')],
    ids=["full", "read-only"],
)
def test_a_case_begins_without_room_and_comes_home_when_there_is(
    tmp_path: Path, spoil: str, mend: str
) -> None:
    """Nothing half begun is left behind, no row is missing, and it verifies."""
    assert told_by(CODE.format(spoil=spoil, mend=mend), tmp_path) == {
        "in memory": True,
        "lost": False,
        "left behind": [],
        "not yet": [True, []],
        "home": [["begin"], []],
        "gone": False,
    }
