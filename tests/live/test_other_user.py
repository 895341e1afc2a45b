"""Somebody else with an account on the machine: no case is read, no message is injected."""

import errno
import json
import os
import shutil
import socket
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.clock import MonotonicClock
from assistant.journal.at_hand import folder_at_hand, take_in_hand
from assistant.journal.folder import new_case
from assistant.journal.journal import FILE_NAME, read_case
from assistant.live.resuming import open_case
from assistant.oximeter.messages import SOCKET_NAME, WatcherLine, Watching, to_json
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, row_now
from assistant.site.folder import files_of
from assistant.site.site import load_site
from tests.live.test_pedal import SITE

pytestmark = pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody else")

OWNER, SOMEBODY_ELSE = 61234, 61235
"""Two users of the machine; neither has to be in its list."""


def as_user(uid: int, does: Callable[[], Any]) -> Any:
    """Do something in a child process of that user, without any group; its result, by JSON.

    Whatever it imports must be imported before: that user may not read this environment.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        result: Any = None
        try:
            os.setgroups([])
            os.setgid(uid)
            os.setuid(uid)
            result = does()
        except BaseException:  # noqa: BLE001 - told to the parent, whatever it is
            result = {"failed": traceback.format_exc()}
        finally:
            os.write(writing, json.dumps(result).encode())
            os._exit(0)
    os.close(writing)
    os.waitpid(child, 0)
    with os.fdopen(reading) as told:
        result = json.loads(told.read())
    assert not (isinstance(result, dict) and "failed" in result), result["failed"]
    return result


@pytest.fixture
def cases():
    """A folder of the owner's that anybody may look into: what protects is each case's own."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    made = folder / "cases"
    made.mkdir()
    made.chmod(0o755)
    shutil.copytree(SITE, folder / "site")
    mask = os.umask(0)  # the most careless of all
    yield made
    os.umask(mask)
    shutil.rmtree(folder)


def hand_over(folder: Path) -> None:
    """All of it is the owner's from now on, as if that one had made it."""
    for path in (folder, *folder.rglob("*")):
        os.chown(path, OWNER, OWNER, follow_symlinks=False)


def begin(cases: Path) -> Path:
    """The owner begins a case, with a row of the watcher's in it; returns its folder."""
    site = cases.parent / "site"
    case = open_case(new_case(cases, files_of(site)), load_site(site), MonotonicClock())
    case.journal.append("team", "heard", "the weight is eighty two kilos")
    folder = next(path for path in cases.iterdir() if path.is_dir())
    record = WatcherRecord(folder / RECORD_NAME)
    record.add(row_now(1.0, "monotonic", "event", "saturation", {"spo2_percent": 97}))
    take_in_hand(cases, folder)
    hand_over(cases)
    return folder


def attempts(cases: Path, folder: Path) -> dict[str, int]:
    """Whatever somebody may try: 0 where it succeeded, and the system's error where not."""

    def send(path: Path) -> None:
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as line:
            line.sendto(to_json(Watching(99, 1.0)).encode(), str(path))

    tried: dict[str, Callable[[], Any]] = {
        "list the case": lambda: list(folder.iterdir()),
        "read the journal": (folder / FILE_NAME).read_bytes,
        "write the journal": lambda: (folder / FILE_NAME).open("ab").close(),
        "read what was not folded in yet": (folder / f"{FILE_NAME}-wal").read_bytes,
        "read the watcher's record": (folder / RECORD_NAME).read_bytes,
        "read the site's copy": (folder / "site" / "brief.yaml").read_bytes,
        "tell the conversation": lambda: send(folder / SOCKET_NAME),
        "tell it by the link": lambda: send(cases / "current" / SOCKET_NAME),
        "put a file into the case": (folder / "mine").touch,
        "put a file beside the cases": (cases / "mine").touch,
    }
    results: dict[str, int] = {}
    for name, attempt in tried.items():
        try:
            attempt()
            results[name] = 0
        except OSError as fault:
            results[name] = fault.errno or -1
    return results


def test_a_case_is_its_owners_alone(cases):
    """Another user is denied each attempt; the owner succeeds in each, and only that one is heard.

    The conversation's own process has the line open meanwhile, as it has in a case.
    """
    folder = begin(cases)

    def while_it_listens(uid: int) -> tuple[dict[str, int], int]:
        line = WatcherLine(folder)
        os.chown(folder / SOCKET_NAME, OWNER, OWNER)
        results = as_user(uid, lambda: attempts(cases, folder))
        heard = len(list(line.poll()))
        line.close()
        return results, heard

    denied, heard = while_it_listens(SOMEBODY_ELSE)
    assert denied == dict.fromkeys(denied, errno.EACCES)
    assert heard == 0

    allowed, heard = while_it_listens(OWNER)
    allowed.pop("read what was not folded in yet")
    assert allowed == dict.fromkeys(allowed, 0)
    assert heard == 2
    assert read_case(folder)[1][0].text == "the weight is eighty two kilos"


def test_between_cases_nobody_else_tells_it_anything(cases):
    """The folder that stands in for a case is as closed as one."""
    folder = folder_at_hand(cases)
    line = WatcherLine(folder)
    hand_over(cases)

    denied = as_user(SOMEBODY_ELSE, lambda: attempts(cases, folder))

    assert denied["tell the conversation"] == errno.EACCES
    assert denied["list the case"] == errno.EACCES
    assert list(line.poll()) == []
    line.close()


def test_the_socket_itself_is_closed_even_in_an_open_folder(cases):
    """Its own mode keeps others out, should somebody open the folder for all."""
    folder = begin(cases)
    line = WatcherLine(folder)
    os.chown(folder / SOCKET_NAME, OWNER, OWNER)
    folder.chmod(0o755)

    denied = as_user(SOMEBODY_ELSE, lambda: attempts(cases, folder))

    assert denied["tell the conversation"] == errno.EACCES
    assert list(line.poll()) == []
    line.close()


def test_a_folder_for_cases_that_the_program_makes_is_closed(cases):
    """Whatever the user's own mask is, nobody else sees when there were cases."""
    made = cases / "made" / "cases"
    new_case(made, files_of(cases.parent / "site"))

    assert made.stat().st_mode & 0o777 == 0o700
