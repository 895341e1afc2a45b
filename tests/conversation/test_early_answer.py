"""Answers that begin around the end of the question, and over it."""

from collections.abc import Callable
from typing import Any

import pytest

from assistant.audio.sound import Samples
from assistant.brief.item import Standing
from assistant.conversation.last_prompt import LAST_WORDS_S, LastPrompt
from assistant.grammar.readings import NOT_FOR_ME, Heard, Reading, Verdict
from assistant.speaking.mouth import Line, Urgency

Begin = Callable[..., Any]
Phrase = Callable[[str], Samples]
OUTSIDE = "a plain yes outside the answer window"
ACCEPT = Verdict.ACCEPT


@pytest.fixture
def asked(begin: Begin, phrase: Phrase) -> Any:
    """A case whose first question has been said to its end just now."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_said("ask")
    return live


def standing(live: Any, item: str) -> Standing:
    return live.conversation.case.known.items[item].standing


@pytest.mark.parametrize("after_s", [0.25, 0.4])
@pytest.mark.parametrize("words", ["yes", "not yet"])
def test_a_quick_answer_counts_as_any_other(
    asked: Any, phrase: Phrase, words: str, after_s: float
) -> None:
    """People know what was asked before its last word has died away."""
    asked.wait(after_s)
    asked.people_say(phrase(words))
    asked.until_said("ask")

    expected = Standing.DONE if words == "yes" else Standing.DEFERRED
    assert standing(asked, "mask") is expected


def test_an_answer_begun_too_early_is_asked_for_in_one_word(asked: Any, phrase: Phrase) -> None:
    """It settles nothing; the same word said again does."""
    asked.people_say(phrase("yes confirmed"))
    assert asked.until_said("again").text == "Again?"
    assert standing(asked, "mask") is Standing.OPEN
    asked.answer(phrase("yes confirmed"))

    assert standing(asked, "mask") is Standing.DONE


def test_talk_over_the_end_of_a_question_is_not_asked_after(asked: Any, phrase: Phrase) -> None:
    """What goes on for seconds was begun to somebody else."""
    asked.people_say(phrase("can you pass me that and then ring them about the bed upstairs"))
    asked.wait(5.0)

    assert not [line for line in asked.ended if line.tag == "again"]


def test_a_plain_yes_over_the_last_words_counts_where_people_may_interrupt() -> None:
    """A short call is known by its beginning; a plan has to be heard nearly to its end."""
    prompt, line = LastPrompt(7.0), Line("Two suctions working?", "ask", urgency=Urgency.ASK)
    prompt.queued(line)

    def objection(lasts_s: float, after_s: float) -> str:
        prompt.began(line, 10.0, lasts_s)
        said = Heard(10.0 + after_s, 11.0 + after_s, Reading("yes", "plain_yes", verdict=ACCEPT))
        return prompt.objection(said, may_interrupt=True, speaking=True)

    assert objection(1.5, 0.8) == ""
    assert objection(1.5, 0.2) == "before the question had been heard"
    assert objection(15.0, 5.0) == OUTSIDE
    assert objection(15.0, 15.0 - LAST_WORDS_S / 2) == ""


@pytest.mark.parametrize(("why", "too_early"), [("too unlike", True), (NOT_FOR_ME, False)])
def test_a_short_word_as_listening_begins_is_asked_for(
    asked: Any, why: str, too_early: bool
) -> None:
    """Its beginning may be lost, so that nothing was made of it; room talk was understood."""
    at_s = asked.at_s
    heard = Heard(at_s + 0.2, at_s + 0.7, Reading("", "", why=why), early_start=why != NOT_FOR_ME)

    admitted = asked.conversation._admission.admit(heard, speaking=False, amid=False)
    assert admitted.too_early is too_early


def test_a_yes_that_began_before_the_call_is_in_time() -> None:
    """One that begins after it may be about the call."""
    prompt, line = LastPrompt(7.0), Line("Two suctions working?", "ask", urgency=Urgency.ASK)
    prompt.queued(line)
    prompt.began(line, 10.0, 1.5)
    prompt.ended(line, 11.5)
    prompt.called(13.0)

    def objection(from_s: float) -> str:
        said = Heard(from_s, from_s + 0.4, Reading("yes", "plain_yes", verdict=ACCEPT))
        return prompt.objection(said, may_interrupt=False, speaking=False)

    assert objection(12.0) == ""
    assert objection(15.5) == OUTSIDE


@pytest.mark.parametrize(
    "words", ["the suckers are both sitting on the trolley", "hm that looks grand"]
)
def test_an_answer_in_unknown_words_is_asked_for_in_a_word_at_once(
    asked: Any, phrase: Phrase, words: str
) -> None:
    """Whoever answers in words that are not known is told soon which are, and no yes is made of
    them; said again, the whole question follows as soon."""
    ended_s = asked.at_s
    asked.answer(phrase(words))
    assert asked.until_said("again", 3.0).text == "Yes, or no?"
    assert standing(asked, "mask") is Standing.OPEN
    asked.answer(phrase(words))
    assert asked.until_said("ask", 8.0).item == "mask"
    assert asked.at_s - ended_s < 20.0

    asked.answer(phrase("yes"))
    assert standing(asked, "mask") is Standing.DONE


def test_long_talk_after_a_question_is_not_asked_after(asked: Any, phrase: Phrase) -> None:
    """Nobody answers a question of three words with a story."""
    asked.answer(phrase("can you pass me that and then ring them about the bed upstairs"))
    asked.wait(1.5)

    assert not [line for line in asked.ended if line.tag == "again"]
