"""One conversation with the real ear, engine, journal and voices; only the air is simulated."""

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ, Samples, scaled, silence
from assistant.brief.brief import Brief
from assistant.clock import SoundClock
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts, SoundPath
from assistant.grammar.readings import Engine
from assistant.hearing.ear import Ear
from assistant.hearing.engines import make_engine
from assistant.journal.journal import Journal
from assistant.journal.rows import Row
from assistant.site.site import Site, load_site
from assistant.speaking.espeak import Espeak
from assistant.speaking.mouth import Line
from assistant.speaking.voices import Voice, VoiceSettings, open_voice

ROOT = Path(__file__).parents[2]


def _item(id_: str, ask: str) -> dict[str, Any]:
    why = "Because it matters."
    return {"id": id_, "kind": "confirm", "ask": ask, "why": why, "sources": ["common-practice"]}


BRIEF = {
    "name": "Small brief",
    "roster": [{"id": "registrar", "called": "the registrar", "said": ["the registrar"]}],
    "sections": [
        {
            "id": "bag",
            "phase": "before",
            "to": "Bag",
            "items": [
                # It holds what may be answered, as no site should have it.
                _item("mask", "The mask. Yes confirmed. That is confirmed. Affirmative?"),
                _item("suction", "Are both suctions working?"),
            ],
        }
    ],
    "attempts": {"after_failure": ["Bag now."]},
}


class Live:
    """Steps a conversation; its loudspeaker comes back into its microphone."""

    def __init__(
        self,
        site: Site,
        engine: Engine,
        folder: Path,
        *,
        echo_db: float = -15.0,
        voice: Voice | None = None,
        may_interrupt: bool = False,
    ) -> None:
        self.folder = folder
        self.clock = SoundClock()
        self.rows: list[Row] = []
        self.ended: list[Line] = []
        self.sound: list[Samples] = []
        """Each block that it played."""
        self.on_row: Callable[[Row], None] = lambda _row: None
        self._echo_db = echo_db
        self._number = 0
        self._people = silence(0)
        self.conversation = Conversation(
            site,
            Parts(
                self.clock,
                Ear(engine),
                voice or open_voice(site.wording.voice),
                Journal(folder, self.clock, site.brief.name),
            ),
            sound=SoundPath(may_interrupt=may_interrupt),
            on_row=self._told,
            on_said=self.ended.append,
        )

    def _told(self, row: Row) -> None:
        self.rows.append(row)
        self.on_row(row)

    @property
    def at_s(self) -> float:
        """When the next block begins."""
        return self._number * BLOCK_S

    def step(self) -> None:
        """One block."""
        piece, self._people = self._people[:BLOCK_SAMPLES], self._people[BLOCK_SAMPLES:]
        mic = np.pad(piece, (0, BLOCK_SAMPLES - len(piece))).astype(np.int32)
        if self.sound:
            mic += scaled(self.sound[-1], self._echo_db)
        self.clock.move_to(self.at_s)
        mic = np.clip(mic, -32768, 32767).astype(np.int16)
        self.sound.append(self.conversation.step(mic, self.at_s))
        self._number += 1

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        for _ in range(round(seconds / BLOCK_S)):
            self.step()

    def until_said(self, tag: str, at_most_s: float = 30.0) -> Line:
        """Let time pass until a line of that kind has been said to its end."""
        before, until_s = len(self.ended), self.at_s + at_most_s
        while self.at_s < until_s:
            self.step()
            for line in self.ended[before:]:
                if line.tag == tag:
                    return line
        raise AssertionError(f"{tag} was not said in {at_most_s} s, but {self.texts('said')}")

    def until_speaking(self) -> None:
        """Let time pass until a block with sound in it has been played."""
        while not (self.sound and np.abs(self.sound[-1]).max() > 1000):
            self.step()

    def people_say(self, sound: Samples) -> None:
        """Somebody begins to speak now."""
        self._people = sound

    def answer(self, sound: Samples) -> None:
        """Somebody answers, with a moment before and after."""
        self.wait(0.8)
        self.people_say(sound)
        self.wait(len(sound) / RATE_HZ + 0.8)

    def texts(self, kind: str) -> list[str]:
        """The texts of the rows of that kind so far."""
        return [row.text for row in self.rows if row.kind == kind]


@pytest.fixture(scope="session", autouse=True)
def speaking_child() -> None:
    """Starts espeak-ng's child before a test narrows what this process and its children may do."""
    Espeak("en-us", 165, 50).render("Ready.")


@pytest.fixture(scope="session")
def site() -> Site:
    whole = load_site(ROOT / "configs" / "tarn-hollow")
    return replace(whole, brief=Brief.model_validate_json(json.dumps(BRIEF)))


@pytest.fixture(scope="session")
def engine() -> Engine:
    return make_engine("closed")


@pytest.fixture(scope="session")
def phrase() -> Callable[[str], Samples]:
    """Something that a person says."""
    return cache(open_voice(VoiceSettings(engine="natural", name="joe")).render)


@pytest.fixture
def begin(site: Site, engine: Engine, tmp_path: Path) -> Callable[..., Live]:
    """Opens a case."""

    def begun(**how: Any) -> Live:
        folder = tmp_path / "case"
        folder.mkdir()
        return Live(site, engine, folder, **how)

    return begun
