"""A machine that needs seconds to read an utterance, in a room that hears its loudspeaker."""

from collections import deque

import numpy as np

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, mixed, silence
from assistant.clock import SoundClock
from assistant.grammar.readings import Reading, Verdict
from assistant.journal.at_hand import case_at_hand
from assistant.journal.journal import read_case
from assistant.live.heartbeat import Heartbeat
from assistant.live.session import Session
from assistant.live.soundcard import ENOUGH_BLOCKS, PREFILL_BLOCKS
from assistant.panel.panel import BarePanel
from assistant.site.site import load_site
from assistant.speaking.voices import VoiceSettings, open_voice
from tests.live.box import room_noise
from tests.live.test_pedal import SITE, DeafEngine

READS_FOR_S = 3.0
LATE_BLOCKS = 3
"""From being given to the loudspeaker until it is in the room."""


class SlowEngine(DeafEngine):
    """Stands in for a recogniser on a slow machine: it understands all, and time passes."""

    def __init__(self, clock) -> None:
        self._clock = clock
        self.read_s = []

    def listen_for(self, grammar) -> None:
        self.grammar = grammar

    def read(self, samples) -> Reading:
        self.read_s.append(self._clock.now_s())
        self._clock.move_to(self._clock.now_s() + READS_FOR_S)
        pattern = next(one for one in self.grammar.patterns if one.meaning in ("new_case", "start"))
        return Reading(pattern.words, pattern.meaning, verdict=Verdict.ACCEPT)


class EchoingCard:
    """Stands in for microphone and loudspeaker in one room, both going on while nobody reads."""

    fault = ""
    overruns = 0
    open = speaks = True
    named = "no sound devices"

    def __init__(self, clock) -> None:
        self._clock = clock
        self._people = deque()
        self._to_play = deque([silence(BLOCK_S)] * PREFILL_BLOCKS)
        self._in_the_air = deque([silence(BLOCK_S)] * LATE_BLOCKS)
        self._heard = deque()
        self._lasted = 0
        self.last_sound_s = 0.0
        """When the loudspeaker was last heard."""
        self.longest_queue = 0

    def speak(self, samples) -> None:
        whole = np.pad(samples, (0, -len(samples) % BLOCK_SAMPLES))
        self._people.extend(whole.reshape(-1, BLOCK_SAMPLES))

    @property
    def silent(self) -> bool:
        return self._clock.now_s() - self.last_sound_s > 1.0

    @property
    def has_enough(self) -> bool:
        return len(self._to_play) >= ENOUGH_BLOCKS

    def read(self, _wait_s):
        if not self._heard:
            self._clock.move_to(max((self._lasted + 1) * BLOCK_S, self._clock.now_s()))
        while (self._lasted + 1) * BLOCK_S <= self._clock.now_s():
            self._pass_a_block()
        return self._heard.popleft()

    def _pass_a_block(self) -> None:
        self._in_the_air.append(self._to_play.popleft() if self._to_play else silence(BLOCK_S))
        echo = self._in_the_air.popleft()
        if echo.any():
            self.last_sound_s = self._lasted * BLOCK_S
        people = self._people.popleft() if self._people else silence(BLOCK_S)
        self._heard.append((self._lasted * BLOCK_S, mixed(people, echo, room_noise(BLOCK_S))))
        self._lasted += 1

    def play(self, block) -> None:
        if block.any() or len(self._to_play) < PREFILL_BLOCKS:
            self._to_play.append(block)
        self.longest_queue = max(self.longest_queue, len(self._to_play))

    def forget(self) -> None:
        self._heard.clear()

    def keep_open(self) -> None:
        """Nothing to open."""

    def close(self) -> None:
        """Nothing to let go."""


def test_it_does_not_hear_the_end_of_its_own_answer(tmp_path):
    """While it read, sound came in: answered just as fast, it would be done before it is heard."""
    clock = SoundClock()
    card, engine = EchoingCard(clock), SlowEngine(clock)
    site = load_site(SITE)
    session = Session(
        site,
        tmp_path,
        clock=clock,
        engine=engine,
        voice=open_voice(site.wording.voice),
        card=card,
        heartbeat=Heartbeat(clock),
        panel=BarePanel(),
    )
    person = open_voice(VoiceSettings(name="en-us", words_per_minute=150))

    def wait(seconds) -> None:
        until_s = clock.now_s() + seconds
        while clock.now_s() < until_s or not card.silent:
            session.step()

    wait(15.0)  # the self-test, and what it says
    assert engine.read_s == []
    for times, said in enumerate(("Open a new case.", "Begin the brief."), start=1):
        card.speak(person.render(said))
        wait(14.0)  # until it has also said that nobody watches
        assert len(engine.read_s) == times, "it has heard itself, or nobody"

    rows = read_case(case_at_hand(tmp_path))[1]
    assert [row.meaning for row in rows if row.kind == "heard"] == ["start"]
    assert card.longest_queue <= ENOUGH_BLOCKS
