"""The pedal: it asks for things, and never answers anything."""

from pathlib import Path

import pytest

from assistant.audio.sound import BLOCK_S, silence
from assistant.clock import SoundClock
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts
from assistant.grammar.readings import Reading
from assistant.hearing.ear import Ear
from assistant.journal.journal import Journal, read_case
from assistant.site.site import load_site

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


class DeafEngine:
    """Stands in for a recogniser in a silent room."""

    name = "deaf"

    def listen_for(self, grammar) -> None:
        """Nothing to prepare."""

    def read(self, samples) -> Reading:
        """Nothing that may be said."""
        return Reading("", "")


class ShortVoice:
    """Stands in for a voice: a tenth of a second of nothing for each line."""

    def render(self, text):
        """Always the same."""
        return silence(0.1)


@pytest.fixture
def case(tmp_path):
    """A conversation in a silent room, its folder, and a way to let it speak to the end."""
    clock = SoundClock()
    site = load_site(SITE)
    conversation = Conversation(
        site,
        Parts(clock, Ear(DeafEngine()), ShortVoice(), Journal(tmp_path, clock, site.brief.name)),
    )

    def speak() -> list[str]:
        for _ in range(20):
            clock.move_to(clock.now_s() + BLOCK_S)
            conversation.step(silence(BLOCK_S), clock.now_s())
        return [row.text for row in read_case(tmp_path)[1] if row.kind == "said"]

    return conversation, speak


def test_say_again_says_the_open_question_again(case):
    """A press repeats what was asked, and leaves the item open."""
    conversation, speak = case
    conversation.pressed("start")
    asked = speak()[-1]

    conversation.pressed("repeat")

    assert "Flush oxygen" in asked
    assert "oxygen on at flush rate" in speak()[-1]
    assert conversation.case.known.items["oxygen-on"].answer is None


def test_a_press_for_a_new_case_asks_whether_this_one_ends(case):
    """A foot that slips ends no case."""
    conversation, speak = case
    conversation.pressed("start")
    speak()

    conversation.pressed("end_case")

    assert speak()[-1] == "Shall I end this case?"
    assert not conversation.ended


def test_a_press_that_makes_no_sense_now_does_nothing_but_go_on_record(case, tmp_path):
    """Nothing can be confirmed, whatever somebody wires up: there is no question yet."""
    conversation, speak = case
    before = speak()

    conversation.pressed("confirm")

    assert speak() == before
    assert "pedal: confirm" in [row.text for row in read_case(tmp_path)[1]]
