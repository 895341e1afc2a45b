"""The wave, seven breaths later: what it comes before, and what comes again after it."""

import pytest

from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State

WAVE = "sustained-carbon-dioxide"
TUBE = ("begin the attempt", "tube in", "we saw a good wave")
ANSWER_S = 8
"""Longer than an answer is waited for."""


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def breaths_later(talk, seconds: float) -> None:
    """Until so many seconds after the first breath; the wave is due after thirty-six."""
    began_s = talk.case.known.clocks["seven breaths"].started_s
    talk.waits(began_s + seconds - talk.now_s)


@pytest.fixture
def read_back(opened):
    """A case in which a depth is read back just before the wave is due."""
    talk = opened(*TUBE)
    breaths_later(talk, 33)
    assert texts(talk.hears("twenty three"))[-1].startswith("I heard twenty-three")
    return talk


def test_a_read_back_is_not_overrun_by_it(read_back) -> None:
    """Its yes leads on to the wave just as well."""
    breaths_later(read_back, 38)
    assert read_back.case.state is State.CHECKING
    assert "wave still sustained" in texts(read_back.hears("yes"))[-1]
    assert read_back.case.known.items["tube-depth"].value == 23


@pytest.mark.parametrize(
    "between", [(), ("hang on", "go on"), ("he's ninety kilos", "yes"), ("why is that",)]
)
def test_what_was_read_back_comes_again_after_it(read_back, between) -> None:
    """It was forgotten, and asked for anew."""
    assert "wave still sustained" in texts(read_back.waits(ANSWER_S))[0]
    for words in between:
        said = texts(read_back.hears(words))
        assert "I heard twenty-three: two three, centimetres. Correct?" not in said
    said = texts(read_back.hears("we saw a good wave"))
    assert said[-1] == "I heard twenty-three: two three, centimetres. Correct?"
    assert read_back.case.state is State.CHECKING
    read_back.hears("yes")
    assert read_back.case.known.items["tube-depth"].value == 23


def test_what_was_read_back_of_a_tube_that_is_out_is_forgotten(read_back) -> None:
    """The next tube has a depth of its own."""
    read_back.waits(ANSWER_S)
    read_back.hears("no")
    assert read_back.case.known.phase is Phase.BETWEEN
    for words in ("begin the attempt", "tube in", "we saw a good wave"):
        said = texts(read_back.hears(words))
    assert not any("twenty-three" in one for one in said)
    assert read_back.case.known.items["tube-depth"].standing is Standing.OPEN


def test_it_is_asked_once_where_an_answer_leads_to_it(read_back) -> None:
    """It was asked twice running."""
    breaths_later(read_back, 38)
    asked = [*texts(read_back.hears("yes")), *texts(read_back.waits(3))]
    assert len([one for one in asked if "wave still sustained" in one]) == 1
    assert [one[:6] for one in texts(read_back.waits(ANSWER_S))] == ["Again:"]


@pytest.fixture
def just_asked(opened):
    """A case in which something is asked just before the wave is due."""
    talk = opened(*TUBE)
    breaths_later(talk, 32)
    talk.hears("twenty three")
    assert texts(talk.hears("yes"))[-1] == "Tube fixed?"
    assert talk.case.known.items[WAVE].standing is Standing.RUNNING
    return talk


def test_a_question_that_was_just_asked_may_be_answered(just_asked) -> None:
    """ "Tube fixed?" was overrun at once."""
    breaths_later(just_asked, 38)
    assert just_asked.case.known.current == "tube-fixed"
    assert "wave still sustained" in texts(just_asked.hears("tube fixed"))[-1]


def test_where_nobody_answers_it_is_asked_instead(just_asked) -> None:
    """And not after the same question once more."""
    asked = texts(just_asked.waits(ANSWER_S))
    assert ["wave still sustained" in one for one in asked] == [True]
    assert just_asked.case.known.current == WAVE
