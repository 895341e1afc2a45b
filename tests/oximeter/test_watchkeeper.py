"""The conversation, and the watcher's real process that dies: said once, and the rest goes on."""

import signal
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from assistant.audio.sound import BLOCK_S, silence
from assistant.clock import MonotonicClock
from assistant.conversation import watchkeeper
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts
from assistant.conversation.watchkeeper import Watchkeeper
from assistant.hearing.ear import Ear
from assistant.journal.journal import Journal
from assistant.oximeter.messages import Calling, WatcherLine
from assistant.speaking.mouth import Line
from tests.live.test_pedal import DeafEngine, ShortVoice
from tests.oximeter.test_process import PATIENCE_S, Stage, comes_true
from tests.tarn_hollow import SITE

SILENT_S = 2.5
"""Half of what it is: a beat comes every second."""


class Desk:
    """A conversation in a silent room, in real time, with the watcher's messages coming in.

    Nobody waits until a whole sentence has been said.
    """

    def __init__(self, case: Path) -> None:
        self.clock = MonotonicClock()
        self.said: list[str] = []
        self.calls: list[Calling] = []
        self.line = WatcherLine(case)
        self._journal = Journal(case, self.clock, SITE.brief.name)
        self.conversation = Conversation(
            SITE,
            Parts(
                self.clock,
                Ear(DeafEngine()),
                ShortVoice(),
                self._journal,
            ),
            on_said=self._said,
        )
        self.keeper = Watchkeeper(self.conversation, self.clock)
        self._began_s, self._blocks = self.clock.now_s(), 0

    def run_until(self, wanted: Callable[[], bool], patience_s: float = PATIENCE_S) -> bool:
        until_s = time.monotonic() + patience_s
        while not wanted():
            if time.monotonic() > until_s:
                return False
            at_s = self._began_s + self._blocks * BLOCK_S
            self._blocks += 1
            time.sleep(max(0.0, at_s - self.clock.now_s()))
            for message in self.line.poll():
                self.keeper.take(message)
                if isinstance(message, Calling):
                    self.calls.append(message)
            self.keeper.pass_time()
            self.conversation.step(silence(BLOCK_S), at_s)
        return True

    def close(self) -> None:
        self.conversation.close()
        self.line.close()

    def _said(self, line: Line) -> None:
        self.said.append(line.text)


@pytest.fixture
def stage(tmp_path: Path) -> Iterator[Stage]:
    one = Stage(tmp_path)
    yield one
    one.end()


@pytest.mark.parametrize(
    "end",
    [
        signal.SIGKILL,
        pytest.param(signal.SIGSTOP, marks=pytest.mark.slow),
        pytest.param(signal.SIGTERM, marks=pytest.mark.slow),
    ],
)
def test_says_once_that_nobody_watches(
    stage: Stage, end: signal.Signals, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed, hung or ended: it is said once, and the conversation goes on asking."""
    monkeypatch.setattr(watchkeeper, "SILENT_S", SILENT_S)

    def saturations() -> int:
        return sum(row.text == "saturation" for row in stage.rows("event"))

    watch = stage.watch()
    assert comes_true(stage.sees_saturation)  # before anybody counts: a busy machine is slow
    desk = Desk(stage.case)
    assert desk.run_until(lambda: bool(desk.said))
    lost = SITE.wording.says.watcher_lost
    assert lost not in desk.said

    watch.send_signal(end)

    assert desk.run_until(lambda: lost in desk.said)
    desk.run_until(lambda: False, patience_s=SILENT_S + 1)
    assert desk.said.count(lost) == 1
    assert not desk.conversation.ended

    if end is signal.SIGKILL:  # a new watcher takes its place, and its call is heard
        seen = saturations()
        stage.watch()
        assert desk.run_until(lambda: saturations() > seen)
        stage.finger.shows = 93
        assert desk.run_until(lambda: bool(desk.calls))
        assert desk.calls[0].text == "Saturation ninety-three."
        assert desk.said.count(lost) == 1
    desk.close()
