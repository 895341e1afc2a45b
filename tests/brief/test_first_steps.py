"""What was agreed to do first when something happens that no item asks for."""

import pytest
from pydantic import ValidationError

from assistant.brief.brief import FirstSteps
from assistant.brief.states import State
from tests.brief.conftest import SITE

STEPS = {one.id: one for one in SITE.brief.first_steps}
TUBE = ("we must go now", "begin the attempt", "tube in", "we saw a good wave")


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def test_they_are_told_at_once_and_the_question_comes_again(opened) -> None:
    """Nothing is settled by it, and nothing is lost."""
    talk = opened()
    talk.hears("begin the brief")
    item = talk.case.known.current
    said = texts(talk.hears("he's vomiting"))
    assert said[0] == STEPS["vomit"].say
    assert len(said) == 2
    assert talk.case.known.current == item
    assert talk.case.state is State.ASKING


@pytest.mark.parametrize("words", ["cuff leak", "he's biting the tube"])
def test_with_a_tube_in_other_things_come_first(opened, words) -> None:
    """And are told again to whoever did not catch them."""
    talk = opened()
    for said in TUBE:
        talk.hears(said)
    before = texts(talk.hears(words))
    step = next(one for one in STEPS.values() if words in one.said)
    assert before[0] == step.say_with_airway != step.say
    assert texts(talk.hears("say again"))[0] == before[0]


def test_without_words_for_that_the_same_are_said_with_a_tube_in(opened) -> None:
    """A site that makes no difference writes one sentence."""
    step = FirstSteps(id="fit", said=("he's fitting",), say="Oxygen on.", sources=("x",))
    assert step.say_with_airway is None
    with pytest.raises(ValidationError):
        FirstSteps(id="fit", said=(), say="Oxygen on.", sources=("x",))


def test_nothing_is_told_while_an_attempt_runs(opened) -> None:
    """Who looks sees it, and has no ear for a sentence."""
    talk = opened()
    for said in TUBE[:2]:
        talk.hears(said)
    assert texts(talk.hears("he's vomiting")) == []
