"""The watcher's process in real time: it calls whatever becomes of the others."""

import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest

from assistant.audio.sound import silence
from assistant.clock import MonotonicClock
from assistant.errors import BadInput
from assistant.files.yaml_files import read_yaml
from assistant.oximeter.feed import SerialFeed
from assistant.oximeter.frames import SerialLine
from assistant.oximeter.messages import Calling, Message, WatcherLine, Watching
from assistant.oximeter.process import run_watcher
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME, WatcherRow
from assistant.oximeter.settings import OximeterSettings
from assistant.patient.finger import open_pty

ROOT = Path(__file__).parents[2]
SETTINGS = read_yaml(ROOT / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings)
PATIENCE_S = 20.0

WATCH = """
import json, sys
from pathlib import Path
from assistant.clock import MonotonicClock
from assistant.oximeter.process import run_watcher
from assistant.oximeter.settings import OximeterSettings
from assistant.oximeter.sources import open_feed
from assistant.audio.sound import silence
case, port, settings, parent = sys.argv[1:]
settings = OximeterSettings.model_validate_json(settings)
run_watcher(
    lambda: Path(case),
    settings,
    lambda text: silence(0.2),
    open_feed(settings, MonotonicClock(), port=port),
    ends_with_parent_pid=int(parent) or None,
)
"""
CONVERSATION = """
import sys, time
from pathlib import Path
from assistant.oximeter.messages import WatcherLine
line = WatcherLine(Path(sys.argv[1]))
while True:
    for message in line.poll():
        print(type(message).__name__, flush=True)
    time.sleep(0.02)
"""
PARENT = """
import os, subprocess, sys, time
case, port, settings, watch, ends = sys.argv[1:]
parent = str(os.getpid()) if ends == "ends" else "0"
child = subprocess.Popen([sys.executable, "-c", watch, case, port, settings, parent])
print(child.pid, flush=True)
time.sleep(600)
"""


class Finger:
    """An oximeter that shows what it is told to, at its own pace, on a pseudo-terminal."""

    def __init__(self) -> None:
        self.shows = 96
        self._master, self.port = open_pty()
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def end(self) -> None:
        self._ending.set()
        self._thread.join()
        os.close(self._master)

    def _run(self) -> None:
        for number in count():
            if self._ending.wait(1 / 60):
                return
            frame = SETTINGS.frame_layout.encode(self.shows, 80, number % 100)
            os.write(self._master, frame)


class Stage:
    """One case: its folder, its oximeter, and the processes that were started for it."""

    def __init__(self, case: Path) -> None:
        self.case = case
        self.finger = Finger()
        self._started: list[subprocess.Popen[str]] = []

    def start(self, program: str, *words: str, **environment: str) -> subprocess.Popen[str]:
        one = subprocess.Popen(
            [sys.executable, "-c", program, *words],
            cwd=ROOT,
            env={**os.environ, **environment},
            stdout=subprocess.PIPE,
            text=True,
        )
        self._started.append(one)
        return one

    def settings(self) -> str:
        crossing = SETTINGS.crossing.model_copy(update={"held_s": 0.2})
        # A pseudo-terminal has no parity, and says so when it is opened a second time.
        layout = SETTINGS.frame_layout.model_copy(update={"line": SerialLine(baud=4800)})
        changed = {"crossing": crossing, "layouts": {SETTINGS.layout: layout}}
        return SETTINGS.model_copy(update=changed).model_dump_json()

    def watch(self, **environment: str) -> subprocess.Popen[str]:
        words = str(self.case), self.finger.port, self.settings(), "0"
        return self.start(WATCH, *words, **environment)

    def converse(self) -> subprocess.Popen[str]:
        one = self.start(CONVERSATION, str(self.case))
        assert one.stdout is not None
        for line in one.stdout:  # until it hears the watcher
            if line.strip() == "Watching":
                return one
        raise AssertionError("the conversation never heard the watcher")

    def rows(self, kind: str = "said") -> list[WatcherRow]:
        return [row for row in read_record(self.case / RECORD_NAME).rows if row.kind == kind]

    def sees_saturation(self) -> bool:
        return any(row.text == "saturation" for row in self.rows("event"))

    def end(self) -> None:
        for one in self._started:
            one.kill()
            one.wait()
            if one.stdout is not None:
                one.stdout.close()
        self.finger.end()


@pytest.fixture
def stage(tmp_path: Path) -> Iterator[Stage]:
    one = Stage(tmp_path)
    yield one
    one.end()


def comes_true(wanted: Callable[[], bool]) -> bool:
    """Wait for it, and no longer than is reasonable on a busy machine."""
    until_s = time.monotonic() + PATIENCE_S
    while time.monotonic() < until_s:
        if wanted():
            return True
        time.sleep(0.02)
    return False


def is_alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text("utf-8").rsplit(")", 1)[1].split()[0]
    except OSError:
        return False
    return state not in "ZX"


def test_the_conversation_hears_the_call(stage: Stage) -> None:
    """A crossing in real time reaches the conversation and then the record, once."""
    line = WatcherLine(stage.case)
    watch = stage.watch()
    assert comes_true(stage.sees_saturation)
    heard: list[Message] = []

    stage.finger.shows = 93

    def is_called() -> bool:
        heard.extend(line.poll())
        return any(isinstance(message, Calling) for message in heard)

    assert comes_true(is_called)
    assert comes_true(lambda: len(stage.rows()) == 1)
    (call,) = [message for message in heard if isinstance(message, Calling)]
    assert call.text == "Saturation ninety-three."
    assert any(isinstance(message, Watching) for message in heard)

    watch.send_signal(signal.SIGTERM)

    assert watch.wait(PATIENCE_S) == 0
    assert stage.rows("event")[-1].text == "watch ended"
    line.close()


@pytest.mark.parametrize("blow", [signal.SIGSTOP, signal.SIGKILL])
def test_a_stricken_conversation_stops_no_call(stage: Stage, blow: signal.Signals) -> None:
    """With the conversation hung or killed the call is made, and recorded, all the same."""
    stage.watch()
    conversation = stage.converse()
    assert comes_true(stage.sees_saturation)

    conversation.send_signal(blow)
    stage.finger.shows = 93

    assert comes_true(lambda: [row.text for row in stage.rows()] == ["Saturation ninety-three."])


def test_no_conversation_at_all(stage: Stage) -> None:
    """The watcher is useful alone."""
    stage.watch()
    assert comes_true(stage.sees_saturation)

    stage.finger.shows = 93

    assert comes_true(lambda: [row.text for row in stage.rows()] == ["Saturation ninety-three."])


@pytest.mark.parametrize("ends", ["ends", "goes on"])
def test_ends_with_its_parent_only_in_a_rehearsal(stage: Stage, ends: str) -> None:
    """When its parent is killed, the watcher of a rehearsal ends and a live one goes on."""
    parent = stage.start(PARENT, str(stage.case), stage.finger.port, stage.settings(), WATCH, ends)
    assert parent.stdout is not None
    watch_pid = int(parent.stdout.readline())
    try:
        assert comes_true(stage.sees_saturation)
        parent.kill()
        parent.wait()
        stage.finger.shows = 93

        if ends == "ends":
            assert comes_true(lambda: not is_alive(watch_pid))
            assert stage.rows("event")[-1].text == "watch ended"
        else:
            assert comes_true(lambda: len(stage.rows()) == 1)
            assert is_alive(watch_pid)
    finally:
        if is_alive(watch_pid):
            os.kill(watch_pid, signal.SIGKILL)


def test_a_case_that_moves_is_watched_on(stage: Stage, tmp_path: Path) -> None:
    """As into memory when the disk takes no more of it: no watch ends or begins, no call comes
    twice, and rows and messages follow."""
    here, there, link = tmp_path / "disk" / "one", tmp_path / "memory" / "one", tmp_path / "link"
    for folder in (here, there):
        folder.mkdir(parents=True)
    link.symlink_to(here)
    program = WATCH.replace("lambda: Path(case)", "lambda: Path(case).resolve()")
    stage.start(program, str(link), stage.finger.port, stage.settings(), "0")
    stage.case = here
    assert comes_true(stage.sees_saturation)
    stage.finger.shows = 93
    assert comes_true(lambda: len(stage.rows()) == 1)
    before = [row.text for row in stage.rows("event")]

    line = WatcherLine(there)
    (tmp_path / "other").symlink_to(there)
    (tmp_path / "other").replace(link)
    stage.case = there

    assert comes_true(stage.sees_saturation)
    assert comes_true(lambda: any(isinstance(one, Watching) for one in line.poll()))
    assert "watch began" in before
    events = [row.text for row in (*read_record(here / RECORD_NAME).rows, *stage.rows("event"))]
    assert (events.count("watch began"), events.count("watch ended")) == (1, 0)
    assert stage.rows() == []
    line.close()


def test_the_next_patient_is_watched_without_making_the_calls_anew(
    stage: Stage, tmp_path: Path
) -> None:
    """They are rendered once, and nobody waits for the record of the case before."""
    one, two, link = tmp_path / "one", tmp_path / "two", tmp_path / "link"
    for folder in (one, two):
        folder.mkdir()
    link.symlink_to(one)
    program = WATCH.replace("lambda: Path(case)", "lambda: Path(case).resolve()")
    program = program.replace(
        "lambda text: silence(0.2)",
        "lambda text: open(f'{case}.txt', 'a').write(f'{text}\\n') and silence(0.2)",
    )
    watch = stage.start(program, str(link), stage.finger.port, stage.settings(), "0")
    stage.case = one
    assert comes_true(stage.sees_saturation)
    (tmp_path / "other").symlink_to(two)
    (tmp_path / "other").replace(link)
    stage.case = two
    assert comes_true(stage.sees_saturation)
    stage.finger.shows = 93
    assert comes_true(lambda: len(stage.rows()) == 1)
    watch.send_signal(signal.SIGTERM)
    assert watch.wait(PATIENCE_S) == 0
    rendered = Path(f"{link}.txt").read_text("utf-8").splitlines()

    assert len(rendered) == len(set(rendered)) > 10
    for folder in (one, two):
        events = [row.text for row in read_record(folder / RECORD_NAME).rows]
        assert (events[0], events[-1]) == ("watch began", "watch ended")
        assert {file.name for file in folder.iterdir()} == {RECORD_NAME}


def test_a_call_without_a_loudspeaker_is_printed(stage: Stage) -> None:
    """Whoever watches by hand sees that there is none, and the call."""
    program = WATCH.replace("ends_with", 'output_device="no such one",\n    ends_with')
    watch = stage.start(program, str(stage.case), stage.finger.port, stage.settings(), "0")
    assert watch.stdout is not None
    assert watch.stdout.readline().startswith("loudspeaker failed: ")
    assert comes_true(stage.sees_saturation)
    stage.finger.shows = 93
    called = watch.stdout.readline()

    assert called == "not heard, for want of a loudspeaker: Saturation ninety-three.\n"


def test_says_the_last_call_again_on_a_signal(stage: Stage) -> None:
    """SIGUSR1 before any call says nothing; after one it says that one again."""
    watch = stage.watch()
    assert comes_true(stage.sees_saturation)
    watch.send_signal(signal.SIGUSR1)
    stage.finger.shows = 93
    assert comes_true(lambda: len(stage.rows()) == 1)

    watch.send_signal(signal.SIGUSR1)

    assert comes_true(lambda: any(row.text == "call repeated" for row in stage.rows("event")))
    assert [row.text for row in stage.rows()] == ["Saturation ninety-three."]


def test_tells_its_service_manager_that_it_lives(stage: Stage, tmp_path: Path) -> None:
    """Ready, then a sign of life each second, then that it stops: sd_notify(3)."""
    address = tmp_path / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(address))
        manager.settimeout(PATIENCE_S)
        watch = stage.watch(NOTIFY_SOCKET=str(address))
        told = [manager.recv(100) for _ in range(3)]
        watch.send_signal(signal.SIGTERM)
        while told[-1] != b"STOPPING=1":
            told.append(manager.recv(100))

    assert told[:3] == [b"READY=1", b"WATCHDOG=1", b"WATCHDOG=1"]
    assert watch.wait(PATIENCE_S) == 0


def test_refuses_a_folder_that_is_not_there(tmp_path: Path) -> None:
    """A case folder that does not exist is refused in one sentence, before anything starts."""
    with pytest.raises(BadInput, match="the case folder cannot be used"):
        run_watcher(
            lambda: tmp_path / "absent",
            SETTINGS,
            lambda text: silence(0.1),
            SerialFeed("nowhere", SETTINGS.frame_layout, MonotonicClock()),
        )


def test_settings_survive_the_way_to_the_process() -> None:
    """A site's settings can be handed over as JSON."""
    assert OximeterSettings.model_validate_json(json.dumps(SETTINGS.model_dump(mode="json"))) == (
        SETTINGS
    )
