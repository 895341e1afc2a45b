"""A yes that is taken back by the same breath, when the next question is being asked already."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from assistant.audio.sound import Samples, silence
from assistant.brief.item import Standing

Begin = Callable[..., Any]
Phrase = Callable[[str], Samples]


def standing(live: Any, item: str) -> Standing:
    return live.conversation.case.known.items[item].standing


@pytest.fixture
def asked(begin: Begin, phrase: Phrase) -> Any:
    """A case whose first question has been said, where people may interrupt."""
    live = begin(may_interrupt=True, echo_db=-90.0)
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_said("ask")
    live.wait(0.6)
    return live


def test_a_not_yet_after_a_pause_takes_the_yes_back(asked: Any, phrase: Phrase) -> None:
    """The item that was settled is asked again, and the next one is not put off."""
    asked.people_say(np.concatenate([phrase("yes"), silence(0.6), phrase("not yet")]))
    asked.wait(4.0)

    assert asked.conversation.case.known.current == "mask"
    assert standing(asked, "mask") is not Standing.DONE
    assert standing(asked, "suction") is Standing.OPEN
    assert "mask: asked again" in asked.texts("event")


def test_a_not_yet_after_the_next_question_answers_that(asked: Any, phrase: Phrase) -> None:
    """However soon it comes after the yes before it."""
    asked.people_say(phrase("yes"))
    asked.until_said("ask")
    asked.people_say(phrase("not yet"))
    asked.wait(2.0)

    assert standing(asked, "mask") is Standing.DONE
    assert standing(asked, "suction") is Standing.DEFERRED
