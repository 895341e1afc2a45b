"""The conductor: steps conversation, watcher, people and patient in lock-step, block by block.

The sound is the clock: one block of 32 ms after the other, as fast as the machine can decode, or
in real time. In real time the watcher is a process of its own, as it is on the trolley.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, mixed, silence
from assistant.brief.case import Case
from assistant.clock import MonotonicClock, SoundClock
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts
from assistant.conversation.watchkeeper import Watchkeeper
from assistant.grammar.readings import Engine
from assistant.hearing.ear import Ear
from assistant.journal.journal import Journal
from assistant.journal.rows import Row
from assistant.oximeter.messages import Calling
from assistant.patient.course import SimulatedPatient
from assistant.patient.finger import SimulatedOximeter, open_pty
from assistant.rehearsal.cast import Cast
from assistant.rehearsal.outcome import FinishedRehearsal
from assistant.rehearsal.room import Recording, Room
from assistant.rehearsal.room_speakers import Player, RoomSpeaker
from assistant.rehearsal.scenario import Scenario
from assistant.rehearsal.watcher import OwnProcess, RunningWatcher, SameProcess
from assistant.site.site import Site
from assistant.speaking.mouth import Line
from assistant.speaking.voices import open_voice

RECORDING_NAME = "room.wav"
QUIET_END_S = 1.0
"""The room is recorded a little longer than the case lasts."""


class Conductor:
    """One rehearsal."""

    def __init__(
        self,
        site: Site,
        scenario: Scenario,
        folder: Path,
        engine: Engine,
        *,
        real_time: bool,
        player: Player | None,
        show: Callable[[Row | Calling], None],
    ) -> None:
        """`show` is told of every row of the record and every call, once it is on disk.

        `player` plays the room aloud.
        """
        self._scenario = scenario
        self._folder = folder
        self._player = player
        self._show = show
        self._clock: MonotonicClock | SoundClock = MonotonicClock() if real_time else SoundClock()
        self._began_s = self._clock.now_s()
        self._rows: list[Row] = []
        self._calls: list[Calling] = []
        self._stuck = False
        self._watcher_lost = False

        self._cast = Cast(scenario)
        self._room = Room(scenario.room, scenario.seed)
        self._patient = SimulatedPatient(scenario.patient)
        port = open_pty()
        self._oximeter = SimulatedOximeter(
            self._patient, site.oximeter.frame_layout, port.master_fd
        )
        voice = open_voice(site.wording.voice)
        self._call_speaker = RoomSpeaker(self._clock)
        journal = Journal(folder, self._clock, site.brief.name)
        self._row_told(
            journal.append("clock", "event", f"rehearsal: {scenario.name}; hearing: {engine.name}")
        )
        self._conversation = Conversation(
            site,
            Parts(self._clock, Ear(engine), voice, journal),
            on_row=self._row_told,
            on_said=self._line_said,
        )
        self._watchkeeper = Watchkeeper(self._conversation, self._clock)
        watching = OwnProcess if real_time else SameProcess
        self._watching: RunningWatcher = watching(
            site=site,
            folder=folder,
            port=port.slave_path,
            clock=self._clock,
            voice=voice,
            speaker=self._call_speaker,
        )

    @property
    def case(self) -> Case:
        """The case as it stands."""
        return self._conversation.case

    def run(self) -> FinishedRehearsal:
        """Play the rehearsal to its end."""
        with ExitStack() as open_things:
            open_things.callback(self._conversation.close)
            open_things.callback(self._end_watch)
            recording = open_things.enter_context(Recording(self._folder / RECORDING_NAME))
            loudspeaker, quiet_s = silence(BLOCK_S), 0.0
            for at_s in self._block_times():
                self._watch(at_s)
                people = self._cast.pull(BLOCK_SAMPLES, at_s)
                noise = self._room.noise()
                mic = self._room.at_the_microphone(people, loudspeaker, noise)
                loudspeaker = self._conversation.step(mic, at_s)
                loudspeaker = mixed(loudspeaker, self._call_speaker.pull(BLOCK_SAMPLES))
                heard = self._room.to_be_heard(people, loudspeaker, noise)
                recording.add(heard)
                if self._player is not None:
                    self._player.play(heard)
                over = self._conversation.ended or self._stuck or self._too_long(at_s)
                quiet_s = quiet_s + BLOCK_S if over else 0.0
                if quiet_s >= QUIET_END_S:
                    break
        return FinishedRehearsal(
            case=self.case,
            rows=self._rows,
            spoken=self._cast.spoken,
            calls=self._calls,
            never_said=self._cast.unused,
            lasted_s=at_s - self._began_s,
        )

    def _block_times(self) -> Iterator[float]:
        """The time at which each block begins; in real time, not before that time has come."""
        number = 0
        while True:
            at_s = self._began_s + number * BLOCK_S
            if isinstance(self._clock, SoundClock):
                self._clock.move_to(at_s)
            else:
                time.sleep(max(0.0, at_s - self._clock.now_s()))
            yield at_s
            number += 1

    def _watch(self, at_s: float) -> None:
        self._oximeter.step(at_s - self._began_s)
        for message in () if self._watcher_lost else self._watching.step():
            self._watchkeeper.take(message)
            if isinstance(message, Calling):
                self._calls.append(message)
                self._show(message)
                self._cast.hears_tag("call", None, message.until_s)
        self._watchkeeper.pass_time()

    def _end_watch(self) -> None:
        """The watcher ends, and tells nobody; once."""
        if not self._watcher_lost:
            self._watcher_lost = True
            self._watching.close()

    def _too_long(self, at_s: float) -> bool:
        return at_s - self._began_s > self._scenario.expected.longest_s

    def _row_told(self, row: Row) -> None:
        self._rows.append(row)
        self._show(row)
        if row.kind == "said":
            lasts_s = float(row.data.get("lasts_s", 0.0))
            self._cast.hears_begin(str(row.meaning), row.item, row.mono_s + lasts_s)
        if "event" in row.data:
            at_s = row.mono_s - self._began_s
            for cue in (row.data["event"], f"{row.data['event']}-{row.item}"):
                self._patient.cue(cue, at_s)
                if cue == self._scenario.watcher_lost_on:
                    self._end_watch()

    def _line_said(self, line: Line) -> None:
        self._cast.hears(line, self._clock.now_s())
        # The assistant waits for an answer and nobody has one: nothing more will happen.
        self._stuck = line.tag == "waiting" and not self._cast.about_to_speak
