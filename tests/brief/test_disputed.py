"""A weight or a pressure that somebody objects to: the old one is not gone by in silence."""

import pytest

from assistant.brief.item import Standing
from assistant.brief.states import State
from tests.brief.test_pause_and_times import to_the_pause

TO_THE_WEIGHT = ("begin", "we saw the mask held on", "bag and valve on")
WEIGHED = (*TO_THE_WEIGHT, "seven zero kilos", "yes")


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def a_dose_in(lines) -> bool:
    return any("milligrams" in one for one in texts(lines))


def test_a_weight_that_led_to_a_dose_is_taken_back_with_it(opened) -> None:
    """ "Taken back." was of the dose alone, and the next one went by the weight just denied."""
    talk = opened(*TO_THE_WEIGHT, "how much ketamine", "seven zero kilos", "yes")
    said = texts(talk.hears("no wait"))
    assert said[0] == "Taken back."
    assert "Weight in kilograms?" in said[1]
    assert talk.case.known.weight_kg is None
    assert not a_dose_in(talk.hears("how much ketamine"))


def test_a_dose_question_that_was_withdrawn_is_not_answered(opened) -> None:
    """ "No wait", said to the question for the weight that the dose needs."""
    talk = opened(*TO_THE_WEIGHT, "how much ketamine", "no wait", "bag and valve on")
    talk.hears("seven zero kilos")
    assert not a_dose_in(talk.hears("yes"))


@pytest.mark.parametrize("no", ["no", "no wait"])
def test_another_weight_that_is_refused_leaves_none_to_go_by(opened, no) -> None:
    """It is asked for, and until then the old one is read back before a dose."""
    talk = opened(*WEIGHED, "the weight is eight zero kilos")
    assert "Weight in kilograms?" in texts(talk.hears(no))[-1]
    said = talk.hears("how much ketamine")
    assert not a_dose_in(said)
    assert "seventy" in texts(said)[-1]


def test_a_first_weight_that_is_refused_is_asked_for_in_its_turn(opened) -> None:
    """Nothing was known before, so nothing is in doubt."""
    talk = opened("begin", "the weight is eight zero kilos")
    asked = talk.case.known.current
    talk.hears("no")
    assert talk.case.known.current == asked


def test_another_pressure_that_is_refused_leaves_none_to_go_by(opened) -> None:
    """A dose for the one before was told without a word."""
    talk = opened(*WEIGHED, "the pressure is one thirty over eighty", "yes")
    talk.hears("the pressure is eight zero over four zero")
    assert "Systolic pressure?" in texts(talk.hears("no"))[-1]
    said = texts(talk.hears("how much ketamine"))
    assert said[0].startswith("The pressure is not known.")


def test_an_unsure_other_weight_has_the_old_one_read_back(opened) -> None:
    """It is asked to be said again, and nobody may do so."""
    talk = opened(*WEIGHED, "~no eight zero")
    assert talk.case.known.current != "weight"
    assert "seventy" in texts(talk.hears("how much ketamine"))[-1]
    assert a_dose_in(talk.hears("yes"))


@pytest.mark.parametrize("later", [(), ("nothing special",), ("nothing special", "hang on")])
def test_no_and_kilograms_is_a_weight_at_any_time(opened, later) -> None:
    """It was heard as long as nothing was asked after the weight, and no longer."""
    talk = opened(*WEIGHED, *later, "no eight zero kilos")
    talk.hears("yes")
    assert talk.case.known.weight_kg == 80


def test_the_pause_hears_another_weight(opened) -> None:
    """Whoever objects to the summary was not heard, and the pause was passed."""
    talk = opened("begin")
    to_the_pause(talk)
    assert "eight zero" in texts(talk.hears("no eight zero kilos"))[-1]
    assert talk.case.state is not State.PAUSING


@pytest.mark.parametrize("words", ["the weight is wrong", "wrong weight"])
@pytest.mark.parametrize(
    "asked", [(), ("how much rocuronium",), ("the weight is nine zero kilos",)]
)
def test_a_wrong_weight_is_in_doubt_and_asked_for(opened, asked, words) -> None:
    """Also while a drug is read back with it, which waits for the right one."""
    talk = opened(*WEIGHED, *asked)
    assert "Weight in kilograms?" in texts(talk.hears(words))[-1]
    assert talk.case.known.weight_in_doubt
    assert talk.case.standing(talk.case.item("weight")) is Standing.OPEN
    talk.hears("eight zero")
    said = texts(talk.hears("yes"))
    assert talk.case.known.weight_kg == 80
    assert any("Rocuronium" in one for one in said) is (asked == ("how much rocuronium",))


def test_a_weight_that_is_read_back_and_wrong_is_asked_again(opened) -> None:
    """It is no word to the read-back but a no."""
    talk = opened(*TO_THE_WEIGHT, "seven zero kilos")
    assert "Weight in kilograms?" in texts(talk.hears("wrong weight"))[-1]
    assert talk.case.known.weight_kg is None
