"""The saturation between attempts: bagged until it is back, asked by a clock, given up at last."""

import pytest

from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State
from tests.brief.conftest import SITE

PLAN = SITE.brief.attempts
ITEM = SITE.brief.item("oxygen-back")
TO_THE_OXYGEN = ("begin the attempt", "attempt failed", "no", "a bougie", "the consultant")
KEEP_ON = "Keep bagging."


def texts(lines) -> list[str]:
    return [line.text for line in lines]


@pytest.fixture
def low(opened):
    """A case in which an attempt has failed, and the saturation was told to be ninety."""
    talk = opened(*TO_THE_OXYGEN)
    assert talk.case.known.current == "oxygen-back"
    assert texts(talk.hears("ninety")) == ["Ninety.", KEEP_ON]
    return talk


def test_it_is_asked_again_while_it_is_not_back(low) -> None:
    """ "The supraglottic airway is next" was said seconds after bagging began, and then nothing."""
    assert not low.waits(ITEM.again_after_s - 5)
    assert texts(low.waits(6)) == ["Saturation back up?"]
    assert low.case.known.current == "oxygen-back"


def test_any_number_that_is_told_meanwhile_counts(low) -> None:
    """Nobody waits to be asked; a number that is still low says to go on."""
    assert texts(low.hears("ninety four")) == ["Ninety-four.", KEEP_ON]
    assert texts(low.hears("ninety seven percent")) == ["Ninety-seven percent.", PLAN.ready]
    assert low.case.state is State.READY


def test_a_bare_number_that_would_end_it_is_read_back(low) -> None:
    """ "A hundred" may be a dose, and "nine" anything."""
    assert low.hears("nine") == []
    assert texts(low.hears("ninety seven"))[-1].startswith("I heard ninety-seven")
    assert texts(low.hears("yes")) == ["Ninety-seven percent.", PLAN.ready]


def test_it_is_bagged_from_when_the_tube_came_out(opened) -> None:
    """A tube that was in for minutes and is lost leaves the whole time to bag."""
    talk = opened("we must go now", "going in now", "tube in", "we saw a good wave")
    talk.waits(200)
    for words in ("tube out", "no", "bougie", "me"):
        talk.hears(words)
    assert texts(talk.hears("eighty eight")) == ["Eighty-eight.", KEEP_ON]


def test_between_attempts_nobody_is_waited_for(opened) -> None:
    """What nobody answers twice is put off, and the saturation is asked for."""
    talk = opened("we must go now", "going in now")
    talk.waits(20)
    talk.hears("can't get it in")
    talk.waits(120)
    assert "Saturation back up?" in talk.said
    assert KEEP_ON in talk.said


def test_what_is_seen_counts_while_its_question_stands(opened) -> None:
    """The watcher has ninety-eight, and nobody has to say so."""
    talk = opened("we must go now", "going in now")
    talk.waits(20)
    for words in ("can't get it in", "no", "bougie", "the consultant"):
        talk.hears(words)
    talk.sees(98)
    talk.waits(15)
    assert talk.said[-1] == PLAN.ready


def test_what_is_told_in_its_own_words_meanwhile_is_read_back(low) -> None:
    """As all that is told late is."""
    assert texts(low.hears("back up"))[-1].endswith("yes?")
    assert PLAN.ready in texts(low.hears("yes"))


def test_what_the_watcher_sees_meanwhile_counts(low) -> None:
    """The monitor had ninety-seven, and nobody was told to go on."""
    low.sees(91)
    assert not low.waits(5)
    low.sees(97)
    assert texts(low.waits(4)) == ["Ninety-seven percent.", PLAN.ready]


def test_what_is_seen_to_be_low_is_not_asked_for(low) -> None:
    """It is said when its time has come."""
    low.sees(91)
    assert texts(low.waits(ITEM.again_after_s + 1)) == ["Ninety-one.", KEEP_ON]


def test_a_confirmation_does_not_outdo_what_is_seen(low) -> None:
    """Of a saturation least of all."""
    low.sees(91)
    low.hears("back up")
    assert any(one.startswith("I see ninety-one;") for one in texts(low.hears("yes")))
    assert low.case.known.items["oxygen-back"].standing is Standing.RUNNING


@pytest.mark.parametrize("answer", ["ninety", "not yet"])
def test_after_a_while_the_next_airway_is_named(low, answer) -> None:
    """So long after the attempt has failed, and not before."""
    for _ in range(10):
        if PLAN.oxygen_not_back not in low.said:
            low.waits(20)
            low.hears(answer)
    failed_s = low.case.known.attempts[-1].ended_s
    assert low.now_s - failed_s >= ITEM.gives_up_after_s
    assert low.now_s - failed_s < ITEM.gives_up_after_s + 40
    assert low.case.state is State.READY
    assert PLAN.ready in texts(low.hears("ninety seven percent"))


def test_where_nobody_answers_it_is_given_up_all_the_same(low) -> None:
    """It waited for minutes without a word."""
    low.waits(ITEM.gives_up_after_s + 40)
    assert low.said[-1] == PLAN.oxygen_not_back


def test_what_does_not_come_back_is_given_up_at_once(low) -> None:
    """By whoever says so; and no breath at all is the next airway itself."""
    assert texts(low.hears("it's not coming back")) == [PLAN.oxygen_not_back]
    low.hears("can't bag")
    assert low.case.known.phase is Phase.SUPRAGLOTTIC


def test_who_looks_again_is_told_what_it_is(low) -> None:
    """And is not held up."""
    assert texts(low.hears("begin the attempt"))[:2] == [
        "Attempt two, clock running.",
        "Saturation ninety.",
    ]
    assert low.case.state is State.ATTEMPTING


def test_what_is_seen_goes_before_what_was_told(low) -> None:
    """Nothing is said of one that is back."""
    low.sees(97)
    assert "Saturation ninety." not in texts(low.hears("begin the attempt"))


def test_what_was_told_long_ago_is_not_what_it_is(low) -> None:
    """A minute later it is another."""
    low.waits(35)
    low.hears("hold on")
    low.waits(70)
    assert "Saturation ninety." not in texts(low.hears("begin the attempt"))


def test_a_low_number_is_no_yes_to_what_goes_by_it(low) -> None:
    """ "Ninety" would have been as good as a yes for a `when`."""
    assert low.case.known.value_of("oxygen-back") is None


def test_the_next_failure_bags_anew(low) -> None:
    """With its own time."""
    low.waits(60)
    for words in ("begin the attempt", "attempt failed", "no", "a bougie", "the consultant"):
        low.hears(words)
    assert texts(low.hears("ninety")) == ["Ninety.", KEEP_ON]
