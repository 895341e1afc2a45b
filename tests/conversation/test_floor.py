"""The floor: who speaks and who is heard around a call; with lines of its own, and no case."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from assistant.audio.sound import BLOCK_S
from assistant.brief.case import Case
from assistant.clock import SoundClock
from assistant.conversation.floor import Floor
from assistant.conversation.gate import Gate
from assistant.conversation.lines import Lines
from assistant.conversation.recorder import CaseRecorder
from assistant.conversation.turn import AFTER_CALL_S, BETWEEN_S
from assistant.journal.journal import Journal
from assistant.journal.rows import Row
from assistant.oximeter.messages import Calling
from assistant.rehearsal.typed import SilentVoice
from assistant.speaking.mouth import Line
from tests.tarn_hollow import SITE

TAIL_S = 0.3
NOTED = Line("Noted, seventy.", "noted")
LONG = Line("Say what is there and what is not, or hang on. Say what is left, at any time.", "help")


class Room:
    """A floor whose lines take their time; nobody but the test decides anything."""

    def __init__(self, folder: Path) -> None:
        self.rows: list[Row] = []
        self.at_s = 0.0
        self._clock = SoundClock()
        self._journal = Journal(folder, self._clock, SITE.brief.name)
        recorder = CaseRecorder(
            *(self._journal, Case.rebuilt(SITE.brief, ())),
            on_row=self.rows.append,
            on_loss=lambda: None,
        )
        self.lines = Lines(
            *(SITE.wording, SilentVoice(), self._clock, recorder),
            breath_s=TAIL_S + BETWEEN_S,
            on_over=lambda line, said: self.floor.over(line, said=said),
        )
        self.floor = Floor(Gate(TAIL_S), self.lines, self._clock)

    def passes(self, seconds: float) -> bool:
        """Time passes and nobody speaks; whether what was open was to be asked again in it."""
        asked_again = False
        for _ in range(round(seconds / BLOCK_S)):
            self._clock.move_to(self.at_s)
            self.floor.begin_block(self.at_s)
            if self.floor.is_free(self.at_s, somebody_speaks=False):
                asked_again |= self.floor.go_on()
            self.floor.pull(self.at_s, hold=False)
            self.at_s += BLOCK_S
        return asked_again

    @property
    def said(self) -> list[str]:
        """The texts of what has begun."""
        return [row.text for row in self.rows if row.kind == "said"]

    def close(self) -> None:
        self._journal.close()


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    room = Room(tmp_path)
    yield room
    room.close()


def _its_own(room: Room) -> None:
    """A call of two words, made for a watcher that has no loudspeaker."""
    now_s = room.at_s
    room.floor.call_for_watcher(Calling("fell", "Saturation ninety.", 90, 90, now_s, now_s))


def _the_watchers(room: Room) -> None:
    room.floor.give_way(room.at_s + 1.0)


@pytest.mark.parametrize("calls", [_its_own, _the_watchers])
def test_what_was_open_is_asked_again_after_a_call(
    room: Room, calls: Callable[[Room], None]
) -> None:
    """Once, and not before people have had time to act on the call and to say so."""
    room.passes(0.1)
    calls(room)
    assert not room.passes(AFTER_CALL_S)
    assert room.passes(2.0)
    room.lines.say(LONG)  # in two breaths, and goes on after the first
    assert not room.passes(12.0)
    assert room.lines.mouth.busy is False


def test_a_line_that_waited_through_a_call_is_said_after_it(room: Room) -> None:
    """And nothing is asked again: it leads on itself."""
    _the_watchers(room)
    room.lines.say(NOTED)
    assert not room.passes(1.0 + AFTER_CALL_S - 0.1)
    assert room.said == []
    assert not room.passes(5.0)
    assert room.said == [NOTED.text]


def test_who_was_heard_as_a_call_began_is_answered_as_soon_as_it_ends(room: Room) -> None:
    """They have had their turn: nothing is waited for, and nobody is answered over the call."""
    _the_watchers(room)
    room.lines.say(NOTED)
    room.floor.answer()
    room.passes(0.9)
    assert room.said == []
    room.passes(0.3)
    assert room.said == [NOTED.text]


def test_nobody_is_heard_while_the_assistant_or_the_watcher_speaks(room: Room) -> None:
    assert room.floor.awaits(room.at_s)
    room.lines.say(NOTED)
    assert room.floor.is_shut(room.at_s)
    assert not room.floor.awaits(room.at_s)
    room.passes(3.0)
    assert room.floor.awaits(room.at_s)
    _the_watchers(room)
    assert room.floor.is_shut(room.at_s)
    assert not room.floor.awaits(room.at_s)
