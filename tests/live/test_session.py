"""A session without hardware: what light, buzzer and record tell of each fault."""

import os
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.sound import BLOCK_S, silence
from assistant.clock import SoundClock, WallReading
from assistant.errors import BadInput
from assistant.grammar.readings import Reading
from assistant.journal import in_memory
from assistant.journal.at_hand import IDLE, case_at_hand, memory_of
from assistant.journal.journal import FILE_NAME, read_case
from assistant.live import resuming
from assistant.live.heartbeat import Heartbeat
from assistant.live.idle import Idle
from assistant.live.session import Session
from assistant.live.troubles import DEAD_AFTER_S
from assistant.oximeter.messages import Calling, ToConversation
from assistant.panel.panel import LightStatus, PedalRequest, Press
from assistant.site.signature import Signing
from assistant.site.site import load_site
from tests.live.box import room_noise
from tests.live.test_pedal import SITE, DeafEngine, ShortVoice


class StubCard:
    """Stands in for microphone and loudspeaker: time goes on by what is read."""

    named = "no sound devices"

    def __init__(self, clock) -> None:
        self.fault = ""
        self.overruns = 0
        self.dead = False
        self.played = []
        self._clock = clock
        self._noise = room_noise(BLOCK_S)

    @property
    def open(self):
        return not self.fault

    @property
    def speaks(self):
        return self.fault in ("", "no microphone")

    def read(self, wait_s):
        self._clock.move_to(self._clock.now_s() + BLOCK_S)
        if self.fault:
            return None
        return self._clock.now_s() - BLOCK_S, silence(BLOCK_S) if self.dead else self._noise

    def play(self, block):
        self.played.append(block)

    has_enough = False

    def forget(self):
        """Nothing has come yet."""

    def keep_open(self):
        """Nothing to open."""

    def close(self):
        """Nothing to let go."""


class NotedPanel:
    """Stands in for pedal, light, buzzer and button: what they were told is kept."""

    fault = ""

    def __init__(self) -> None:
        self.shown = LightStatus.IDLE
        self.buzzed = 0
        self.presses = []
        self.marks = 0

    def marked(self):
        marks, self.marks = self.marks, 0
        return marks

    def pressed(self):
        presses, self.presses = self.presses, []
        return presses

    def show(self, status):
        self.shown = status

    def buzz(self):
        self.buzzed += 1

    def close(self):
        """Nothing to give back."""


class FailingVoice(ShortVoice):
    """Stands in for a voice that fails from some moment on."""

    fails = False

    def render(self, text):
        if self.fails:
            raise BadInput("the voice is gone")
        return np.full(1600, 500, dtype=np.int16)


class Room:
    """A session in a case that the pedal has opened."""

    def __init__(self, cases, clock=None) -> None:
        self.clock = clock or SoundClock()
        self.card = StubCard(self.clock)
        self.panel = NotedPanel()
        self.voice = FailingVoice()
        self.cases = cases
        self.session = Session(
            load_site(SITE),
            cases,
            clock=self.clock,
            engine=DeafEngine(),
            voice=self.voice,
            card=self.card,
            heartbeat=Heartbeat(self.clock),
            panel=self.panel,
        )

    def wait(self, seconds):
        for _ in range(round(seconds / BLOCK_S)):
            self.session.step()

    def open_a_case(self):
        self.wait(12.0)  # the self-test finds no loudspeaker in this room
        self.panel.presses = [Press(PedalRequest.NEW_CASE, self.clock.now_s(), 2.5)]
        self.wait(2.0)
        self.folder = case_at_hand(self.cases)
        self.wait(4.0)
        self.panel.buzzed = 0

    def texts(self, kind):
        return [row.text for row in read_case(self.folder)[1] if row.kind == kind]


@pytest.fixture
def room(tmp_path):
    opened = Room(tmp_path)
    opened.open_a_case()
    return opened


def test_all_well_and_the_light_says_that_it_listens(room):
    """Nothing buzzes."""
    assert (room.panel.shown, room.panel.buzzed) == (LightStatus.LISTENING, 0)


def test_a_dead_line_is_shown_buzzed_said_and_recorded(room):
    """The microphone is there and gives nothing; later it hears again."""
    room.card.dead = True
    room.wait(DEAD_AFTER_S + 8.0)
    assert (room.panel.shown, room.panel.buzzed) == (LightStatus.FAULT, 1)
    assert room.texts("said")[-1] == "The microphone gives no sound."
    assert "the microphone gives no sound at all" in room.texts("event")

    room.card.dead = False
    room.wait(8.0)
    assert room.panel.shown is LightStatus.LISTENING
    assert room.texts("said")[-1] == "I can hear again."


def test_a_microphone_that_is_gone_is_shown_buzzed_said_and_recorded(room):
    """The loudspeaker is left to say it with."""
    room.card.fault = "no microphone"
    room.wait(4.0)
    assert (room.panel.shown, room.panel.buzzed) == (LightStatus.FAULT, 1)
    assert room.texts("said")[-1] == "I cannot hear: the microphone is gone."
    assert "sound lost: no microphone" in room.texts("event")


def test_sound_that_is_gone_altogether_is_shown_buzzed_and_recorded(room):
    """Nothing is said into the void."""
    said = room.texts("said")
    room.card.fault = "nothing there"
    room.wait(4.0)
    assert (room.panel.shown, room.panel.buzzed) == (LightStatus.FAULT, 1)
    assert room.texts("said") == said
    room.card.fault = ""
    room.wait(4.0)
    assert (room.panel.shown, room.panel.buzzed) == (LightStatus.LISTENING, 1)
    assert room.texts("said")[-1] == "I can hear again."


def test_a_voice_that_fails_is_shown_buzzed_and_recorded(room):
    """The case goes on, and what was prepared is said in place of the line."""
    room.voice.fails = True
    room.session._now.pressed("start")
    room.wait(2.0)
    assert (room.panel.shown, room.panel.buzzed) == (LightStatus.FAULT, 1)
    assert "not spoken" in room.texts("event")
    assert room.texts("said")[-1].startswith("I cannot say")


def test_a_call_is_made_for_the_watcher_by_a_voice_that_fails(room):
    """It was rendered beforehand, as what must be said in need."""
    room.voice.fails = True
    now_s = room.clock.now_s()
    call = Calling("fell", "Saturation ninety-two.", 92, 92, now_s, now_s)
    room.session._now.take(call)
    room.wait(2.0)
    assert room.texts("said")[-1] == "Saturation ninety-two."


def test_a_voice_that_fails_between_cases_ends_nothing(tmp_path):
    """It is shown, and a case can still be opened."""
    room = Room(tmp_path)
    room.voice.fails = True
    room.wait(12.0)
    assert room.panel.buzzed == 1
    room.voice.fails = False
    room.open_a_case()
    assert room.texts("said")


def test_a_voice_that_fails_from_the_start_is_refused(tmp_path, monkeypatch):
    """Nothing half-starts; but a case that was cut short goes on without a voice."""
    monkeypatch.setattr(FailingVoice, "fails", True)
    with pytest.raises(BadInput, match="the voice is gone"):
        Room(tmp_path)
    monkeypatch.setattr(FailingVoice, "fails", False)
    Room(tmp_path).open_a_case()  # and killed in it
    monkeypatch.setattr(FailingVoice, "fails", True)

    resumed = Room(tmp_path)
    resumed.wait(2.0)

    resumed.folder = case_at_hand(tmp_path)
    assert "not spoken" in resumed.texts("event")
    assert resumed.panel.shown is LightStatus.FAULT


def spoilt(name: str, content: bytes | None):
    """A file of a case that a failing card has left with that at its beginning; "" for empty, None
    for one that is gone."""

    def spoil(case: Path) -> None:
        file = case / name
        if content is None:
            file.unlink()
        else:
            file.write_bytes(content + file.read_bytes()[len(content) :] if content else b"")

    return spoil


@pytest.mark.parametrize(
    "spoil",
    [
        spoilt("journal.sqlite", bytes(100)),
        spoilt("journal.sqlite", b""),
        spoilt("journal.sqlite", None),
        spoilt("site/formulary.yaml", bytes(500)),
        spoilt("site/brief.yaml", b""),
        lambda case: os.truncate(case / "journal.sqlite", 12288),
    ],
)
def test_a_damaged_case_is_laid_down_and_a_new_one_opened(room, caplog, spoil) -> None:
    """It was the end of every start. Nothing of it is touched; it is said, logged and on record."""
    room.session.run(lambda: True)
    spoil(room.folder)
    left = {file: file.read_bytes() for file in room.folder.rglob("*") if file.is_file()}

    again = Room(room.cases)
    again.folder = case_at_hand(room.cases)
    again.wait(12.0)

    assert again.folder != room.folder
    assert {file: file.read_bytes() for file in left} == left
    assert again.texts("said").count(load_site(SITE).wording.live.case_laid_down) == 1
    (logged,) = [one for one in caplog.messages if one.startswith("The case that was open stays")]
    assert str(room.folder) in logged
    assert str(room.folder) in " ".join(again.texts("event"))
    once_more = Room(room.cases)  # the new one goes on
    assert case_at_hand(room.cases) == again.folder
    assert once_more.session._now.opened.resumed is not None


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE rows SET data = json_set(data, '$.boot', 'another') WHERE kind = 'event'",
        "UPDATE rows SET wall = 'soon', wall_trusted = 1",
        "UPDATE head SET link = CAST(link AS BLOB)",
    ],
)
def test_a_case_that_somebody_has_altered_ends_no_start(room, monkeypatch, statement) -> None:
    """What makes no sense any more is left out, and the case goes on, in another run too."""
    room.session.run(lambda: True)
    with closing(sqlite3.connect(room.folder / FILE_NAME, isolation_level=None)) as base:
        base.execute(statement)
    monkeypatch.setattr(resuming, "boot_id", lambda: "another run")
    set_clock = WallReading("2026-03-01T10:00:00.000Z", trusted=True)
    monkeypatch.setattr(resuming, "read_wall", lambda: set_clock)

    again = Room(room.cases)
    again.folder = room.folder
    again.wait(6.0)

    assert again.session._now.opened.resumed is not None
    assert not again.session._now.opened.journal.lost
    assert "another run of the machine" in again.texts("event")


def test_another_patient_gets_a_case_of_its_own_at_once(room) -> None:
    """The program was away for a day: a no, and a yes to ending that case, open the next one."""
    room.session.run(lambda: True)
    room.clock.move_to(room.clock.now_s() + 86_400.0)
    later = Room(room.cases, room.clock)
    later.wait(6.0)
    later.session._now.pressed("decline")
    later.wait(6.0)
    later.session._now.pressed("confirm")
    later.wait(8.0)

    rows = [row for row in read_case(room.folder)[1] if row.data.get("event") == "ended"]
    assert [row.data["another_patient"] for row in rows] == [True]
    later.folder = case_at_hand(room.cases)
    assert later.folder != room.folder
    assert "opened" in [row.meaning for row in read_case(later.folder)[1]]


def _tested(folder: Path, signing: Signing) -> Idle:
    """Between two cases, with its self-test, in a room without a sound."""
    return Idle(
        replace(load_site(SITE), signing=signing),
        folder,
        clock=SoundClock(),
        engine=DeafEngine(),
        voice=ShortVoice(),
        tail_s=0.5,
        test=True,
    )


@pytest.mark.parametrize(
    ("signing", "said"),
    [
        (Signing.SIGNED, ""),
        (Signing.UNSIGNED, "Site not signed. "),
        (Signing.CHANGED, "Site changed since it was signed. "),
    ],
)
def test_a_site_that_nobody_has_signed_is_called_so(tmp_path, caplog, signing, said):
    """Once at the start, shortly and first; of a signed one nothing."""
    caplog.set_level("INFO", logger="assistant.live.idle")
    idle = _tested(tmp_path, signing)
    for number in range(round(12.0 / BLOCK_S)):
        idle.step(silence(BLOCK_S), number * BLOCK_S)
    assert caplog.messages == [f"{said}{caplog.messages[0].removeprefix(said)}"]
    assert caplog.messages[0].removeprefix(said).startswith("Not everything works.")


@pytest.mark.parametrize(
    ("hears", "speaks", "told"),
    [
        (True, True, "Not everything works. The microphone gives no sound. "),
        (False, True, "Not everything works. I cannot hear: the microphone is gone. "),
        (False, False, "Not everything works. There is no loudspeaker. "),
    ],
)
def test_nobody_is_told_that_it_listens_where_it_cannot_hear(
    tmp_path, caplog, hears, speaks, told
) -> None:
    """What is missing is named, once."""
    caplog.set_level("INFO", logger="assistant.live.idle")
    idle = _tested(tmp_path, Signing.SIGNED)
    for number in range(round(12.0 / BLOCK_S)):
        idle.sound_is(hears=hears, speaks=speaks)
        idle.step(silence(BLOCK_S), number * BLOCK_S)
    (text,) = caplog.messages
    assert text.startswith(told)
    assert text.count("microphone") + text.count("loudspeaker") == 1
    assert text.endswith("Nobody is heard until that is mended.")


def test_the_mark_button_marks_the_moment_and_nothing_is_said(room) -> None:
    """On record as the facilitator's, once a press; between cases it marks nothing."""
    room.wait(30.0)
    said = len(room.texts("said"))
    room.panel.marks = 2
    room.wait(0.1)
    rows = [row for row in read_case(room.folder)[1] if row.data.get("event") == "mark"]
    assert [(row.who, row.text) for row in rows] == [("facilitator", "by the button")] * 2
    assert len(room.texts("said")) == said


def test_between_cases_the_mark_button_does_nothing(tmp_path) -> None:
    """There is no case in which a moment could be marked."""
    room = Room(tmp_path)
    room.panel.marks = 1
    room.wait(1.0)
    assert case_at_hand(tmp_path) is None


def test_a_call_that_comes_while_the_case_moves_is_not_lost(room, monkeypatch) -> None:
    """The watcher has no loudspeaker, and tells as the session turns to another folder."""
    tell = ToConversation(room.folder)
    rescue = room.session._records.rescue

    def told_meanwhile(case) -> None:
        now_s = room.clock.now_s()
        tell(Calling("fell", "Saturation eighty-five.", 85, 84, now_s, now_s))
        rescue(case)

    monkeypatch.setattr(room.session._records, "due", lambda _: True)
    monkeypatch.setattr(room.session._records, "rescue", told_meanwhile)
    room.session.step()
    monkeypatch.undo()
    room.wait(2.0)

    assert room.texts("said").count("Saturation eighty-five.") == 1


@pytest.mark.parametrize("room_again", [True, False])
def test_a_disk_that_takes_no_case_leaves_nobody_without_the_brief(
    tmp_path, monkeypatch, room_again
) -> None:
    """It is said at the start and in the case, which goes on in memory; once there is room it
    stands among the others. A refusal stands in for a disk without room."""
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    has_room = False
    monkeypatch.setattr(in_memory, "takes_records", lambda _: has_room)
    cases = tmp_path / "cases"
    said_between = []
    monkeypatch.setattr(Idle, "note", lambda _, text, say: said_between.append(say))
    room = Room(cases)
    lost = room.session._site.wording.says.record_lost
    assert said_between == [lost]
    room.wait(12.0)
    cases.write_bytes(b"")  # no folder for cases can be made there
    room.panel.presses = [Press(PedalRequest.NEW_CASE, room.clock.now_s(), 2.5)]
    room.wait(6.0)
    folder = case_at_hand(cases)
    assert folder.parent == memory_of(cases)
    said = [row.text for row in read_case(folder)[1] if row.kind == "said"]
    assert lost in said
    assert any(text.endswith("Say: begin.") for text in said)
    room.panel.presses = [Press(PedalRequest.NEW_CASE, room.clock.now_s(), 2.5)]
    room.wait(3.0)  # in a case it asks whether this one is to end
    if room_again:
        cases.unlink()
        cases.mkdir()
        has_room = True
    conversation = room.session._now.conversation
    conversation._run(conversation._caller.heard(Reading("yes confirmed", "confirm")))
    room.wait(3.0)
    assert isinstance(room.session._now, Idle)
    assert case_at_hand(cases) is None
    assert folder.exists() is not room_again
    whole = cases / folder.name if room_again else folder
    assert [row.data.get("event") for row in read_case(whole)[1]].count("ended") == 1
    if room_again:
        assert [one.name for one in cases.iterdir() if one.name != IDLE] == [folder.name]
