"""The bedside without a room: a real record that grows, a real watcher's line, the real server, and
a real browser where there is one. Only what is heard is told and not spoken."""

import json
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import pytest

from assistant.brief.moment import Happened, Steps
from assistant.clock import MonotonicClock
from assistant.conversation.recorder import CaseRecorder
from assistant.journal.at_hand import folder_at_hand, lay_down, take_in_hand
from assistant.journal.folder import new_case
from assistant.journal.journal import Journal
from assistant.oximeter.messages import GLANCE_NAME, ToConversation, WatcherLine, Watching
from assistant.site.site import Site, load_site
from assistant.speaking.mouth import Line
from tests.brief.conftest import Table

ROOT = Path(__file__).parents[2]
PATIENCE_S = 20.0


class RecordedTable(Table):
    """A case whose steps go into a journal before they count, as the conversation has it."""

    def __init__(self, site: Site, folder: Path) -> None:
        self._clock = MonotonicClock()
        self.journal = Journal(folder, self._clock, site.brief.name)
        super().__init__(site)

    def run(self, steps: Steps) -> list[Line]:
        recorder = CaseRecorder(
            self.journal, self.case, on_row=lambda _: None, on_loss=lambda: None
        )
        said: list[Line] = []
        for step in steps:
            if isinstance(step, Happened):
                recorder.event(step)
            else:
                recorder.said(step, lasts_s=0.0)
                said.append(step)
        return said


class Bedside:
    """Cases, a listener's line, a watcher's voice, and the server, a process of its own."""

    def __init__(self, folder: Path, settings: str = "") -> None:
        self.site_folder = folder / "site"
        shutil.copytree(ROOT / "configs" / "tarn-hollow", self.site_folder)
        self.port = free_port()
        self.write_settings(settings)
        self.site = load_site(self.site_folder)
        self.cases = folder / "cases"
        self.line: WatcherLine | None = WatcherLine(folder_at_hand(self.cases))
        self.table: RecordedTable | None = None
        self._watcher = ToConversation(self.cases, GLANCE_NAME)
        self._shows: int | None = None
        self._beats = threading.Event()
        self._ending = threading.Event()
        self._heart = threading.Thread(target=self._beat, daemon=True)
        self._heart.start()
        self.server: subprocess.Popen[str] | None = None

    @property
    def address(self) -> str:
        """Of the page."""
        return f"http://127.0.0.1:{self.port}/"

    def write_settings(self, more: str) -> None:
        """The site's glance.yaml."""
        text = f"port: {self.port}\n{more}"
        (self.site_folder / "glance.yaml").write_text(text, encoding="utf-8")

    def serve(self) -> None:
        """Start the server, and wait until it answers."""
        self.server = subprocess.Popen(
            [
                *(sys.executable, "-m", "assistant", "glance", "--cases", str(self.cases)),
                *("--site", str(self.site_folder)),
            ],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self.server.stdout is not None
        assert self.server.stdout.readline().startswith(self.address)

    def open_case(self) -> RecordedTable:
        """As the listener opens one."""
        folder = new_case(self.cases, self.site.files)
        self.table = RecordedTable(self.site, folder)
        take_in_hand(self.cases, folder)
        self.hang_up()
        self.line = WatcherLine(folder)
        return self.table

    def end_case(self) -> None:
        """As the listener ends one."""
        if self.table is not None:
            self.table.journal.close()
            self.table = None
        lay_down(self.cases)
        self.hang_up()
        self.line = WatcherLine(folder_at_hand(self.cases))

    def hang_up(self) -> None:
        """The listener is gone."""
        if self.line is not None:
            self.line.close()
            self.line = None

    def sees(self, spo2_percent: int | None) -> None:
        """From now on the watcher tells this, at once and every half second."""
        self._shows = spo2_percent
        self._beats.set()
        self._watcher(Watching(spo2_percent, time.monotonic()))

    def begin_anew(self) -> None:
        """Between cases, nobody watched, served: whatever a test has done before."""
        self.watches_no_more()
        if self.table is not None or self.line is None:
            self.end_case()
        if self.server is None or self.server.poll() is not None:
            self.serve()
        self.server_goes_on()

    def server_stops(self) -> None:
        """It hangs."""
        assert self.server is not None
        self.server.send_signal(signal.SIGSTOP)

    def server_goes_on(self) -> None:
        """It hangs no more."""
        assert self.server is not None
        self.server.send_signal(signal.SIGCONT)

    def server_dies(self) -> None:
        """It is gone."""
        assert self.server is not None
        self.server.kill()
        self.server.wait()

    def watches_no_more(self) -> None:
        """The watcher is gone."""
        self._beats.clear()

    def close(self) -> None:
        """End what was started here."""
        self._ending.set()
        self._heart.join()
        self._watcher.close()
        self.hang_up()
        if self.table is not None:
            self.table.journal.close()
        if self.server is not None:
            self.server_dies()

    def _beat(self) -> None:
        while not self._ending.wait(0.5):
            if self._beats.is_set():
                self._watcher(Watching(self._shows, time.monotonic()))


def free_port() -> int:
    """A port of the loopback on which nobody listens."""
    with closing(socket.socket()) as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def fetched(
    bedside: Bedside, path: str, method: str = "GET", host: str | None = None
) -> tuple[int, dict[str, str], bytes]:
    """Status, headers by lower-case name, and body of one request."""
    with closing(HTTPConnection("127.0.0.1", bedside.port, timeout=PATIENCE_S)) as line:
        line.request(method, path, headers={} if host is None else {"Host": host})
        answer = line.getresponse()
        headers = {name.lower(): value for name, value in answer.getheaders()}
        return answer.status, headers, answer.read()


def shown(bedside: Bedside) -> dict[str, Any]:
    """What the page is told to show now."""
    status, _, body = fetched(bedside, "/now.json")
    assert status == 200
    return dict(json.loads(body))


@pytest.fixture
def bedside(tmp_path: Path) -> Iterator[Bedside]:
    """Between cases, not yet served."""
    made = Bedside(tmp_path)
    yield made
    made.close()


@pytest.fixture(scope="session")
def _served_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bedside]:
    made = Bedside(tmp_path_factory.mktemp("bedside"))
    made.serve()
    yield made
    made.close()


@pytest.fixture
def served(_served_once: Bedside) -> Bedside:
    """Between cases and served; one server for all who need none of their own."""
    _served_once.begin_anew()
    return _served_once
