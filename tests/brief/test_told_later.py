"""What is seen to after it was put off, or long after it was asked, and told in its own words."""

import pytest

from assistant.brief.item import Standing
from assistant.brief.states import State
from assistant.rehearsal.text_case import TextCase
from tests.tarn_hollow import SITE

TO_THE_SUCTION = (
    *("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes"),
    *("nothing special", "we went through the allergies", "the registrar", "the consultant"),
    *("we went through that plan", "running freely", "one three zero", "drawn up and labeled"),
    "tested",
)


@pytest.fixture
def at_the_suction():
    """A case in which the two suctions were just asked for."""
    case = TextCase(SITE)
    for words in TO_THE_SUCTION:
        case.hears(words)
    assert case.case.known.current == "suction"
    yield case
    case.close()


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def standing(case: TextCase, item: str) -> Standing:
    return case.case.known.items[item].standing


@pytest.mark.parametrize("sure", [True, False])
def test_what_was_put_off_is_taken_once_its_read_back_is_confirmed(at_the_suction, sure) -> None:
    """It is read back by its name, since something else is being asked; then that comes again."""
    case = at_the_suction
    asked = texts(case.hears("not yet"))[-1]
    assert texts(case.hears("both working", sure=sure)) == ["Suction, yes?"]
    assert standing(case, "suction") is Standing.DEFERRED
    assert texts(case.hears("yes")) == [asked]
    assert standing(case, "suction") is Standing.DONE
    assert case.case.known.current == "rescue-kit"


def test_a_no_to_that_changes_nothing(at_the_suction) -> None:
    """It was something else that was heard: it stays put off, and is asked when its time comes."""
    case = at_the_suction
    asked = texts(case.hears("not yet"))[-1]
    case.hears("both working")
    assert texts(case.hears("no"))[-1] == asked
    assert standing(case, "suction") is Standing.DEFERRED


def test_nothing_but_its_own_words_tells_of_what_was_put_off(at_the_suction) -> None:
    """A yes answers what is being asked."""
    case = at_the_suction
    case.hears("not yet")
    case.hears("yes")
    assert standing(case, "suction") is Standing.DEFERRED
    assert standing(case, "rescue-kit") is Standing.DONE


def test_the_same_words_answer_the_item_that_is_asked(at_the_suction) -> None:
    """What answers both answers that one, and is not read back."""
    case = at_the_suction
    case.hears("not yet")
    case.hears("both here")
    assert case.case.known.current == "suction"
    case.hears("both working")
    assert standing(case, "suction") is Standing.DONE
    assert case.case.state is State.ASKING


def test_what_is_open_at_the_pause_may_be_told_there(at_the_suction) -> None:
    """The pause is summed up anew then."""
    case = at_the_suction
    for words in ("not yet", "both here", "not yet", "staying up"):
        case.hears(words)
    case.waits(180)
    assert "One open: suction." in texts(case.hears("we saw the mask held on"))[-1]
    assert texts(case.hears("both working")) == ["Suction, yes?"]
    said = texts(case.hears("yes"))
    assert "Nothing open. Clear to give the drugs?" in said[-1]
    assert case.case.state is State.PAUSING


def test_oxygen_that_is_back_before_the_next_attempt() -> None:
    """It was not when it was asked for, and nothing else is asked any more."""
    case = TextCase(SITE)
    for words in ("we must go now", "begin the attempt", "abort", "not yet", "another blade", "me"):
        case.hears(words)
    assert case.case.known.current == "oxygen-back"
    case.hears("it's not coming back")
    assert case.case.state is State.READY
    assert "yes?" in texts(case.hears("back up"))[-1]
    case.hears("yes")
    assert standing(case, "oxygen-back") is Standing.DONE
    case.close()


def test_an_answer_in_own_words_long_after_the_question_is_read_back(at_the_suction) -> None:
    """Nobody waits for the question again to say that it is so."""
    case = at_the_suction
    case.waits(60)
    assert texts(case.hears("both working")) == ["Both working, yes?"]
    assert standing(case, "suction") is Standing.OPEN
    case.hears("yes")
    assert standing(case, "suction") is Standing.DONE


@pytest.mark.parametrize("words", ["yes", "both working"])
def test_what_was_not_surely_heard_so_late_is_nothing(at_the_suction, words) -> None:
    """It may be meant for anybody."""
    case = at_the_suction
    case.waits(60)
    assert texts(case.hears(words, sure=False)) == []
    assert standing(case, "suction") is Standing.OPEN


def test_a_yes_to_an_item_that_is_waited_for_is_read_back(at_the_suction) -> None:
    """ "Waiting for suction." Whoever says yes then was not heard, and was not told so."""
    case = at_the_suction
    while not any(line.tag == "waiting" for line in case.lines):
        case.waits(5)
    case.waits(20)
    assert texts(case.hears("yes")) == ["Suction, yes?"]
    assert standing(case, "suction") is Standing.OPEN
    case.hears("yes")
    assert standing(case, "suction") is Standing.DONE


def test_a_yes_to_a_number_that_is_waited_for_has_it_read_back_again() -> None:
    """Nobody remembers the number, so that the late yes alone is nothing."""
    case = TextCase(SITE)
    for words in TO_THE_SUCTION[:4]:
        read_back = texts(case.hears(words))[-1]
    while not any(line.tag == "waiting" for line in case.lines):
        case.waits(5)
    case.waits(20)
    assert texts(case.hears("yes")) == [read_back]
    assert case.case.known.weight_kg is None
    case.hears("yes")
    assert case.case.known.weight_kg == 70
    case.close()
