"""What is asked back, because of where the case is or because it was not surely heard."""

import pytest

from assistant.brief.attempt import SAID_AGAIN_WITHIN_S
from assistant.brief.phases import Phase
from assistant.brief.states import State
from tests.brief.conftest import SITE

ASKED_BACK = SITE.wording.vital.asked_back
TUBE = ("we must go now", "begin the attempt", "tube in", "we saw a good wave")
AT_THE_NECK = ("we must go now", "begin the attempt", "can't oxygenate")


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def outcomes(talk) -> list[str | None]:
    return [one.outcome for one in talk.case.known.attempts]


@pytest.mark.parametrize("words", ["cardiac arrest", "tube out", "drugs in"])
@pytest.mark.parametrize("sure", [False, True])
def test_said_again_to_its_ask_back_it_counts(opened, words, sure) -> None:
    """Four times "Cardiac arrest?" was asked, and nothing had happened; the record said that
    another word had come."""
    talk = opened("we must go now", "begin the attempt", "tube in")
    talk.hears(words, sure=False)
    assert talk.case.state is State.DOUBTING
    talk.hears(words, sure=sure)
    assert talk.case.state is not State.DOUBTING
    settled = [row for row in talk.rows if row.data.get("event") == "doubt-settled"]
    assert [row.data["confirmed"] for row in settled] == [True]


@pytest.mark.parametrize("words", ["this isn't working", "abort", "can't get it in"])
def test_no_attempt_fails_that_nobody_began(opened, words) -> None:
    """Said of a suction or of a line, in the middle of the brief."""
    talk = opened("begin", "we saw the mask held on")
    asked = talk.case.known.current
    assert texts(talk.hears(words)) == [ASKED_BACK.attempt_failed]
    talk.hears("no")
    assert outcomes(talk) == []
    assert talk.case.known.current == asked
    talk.hears(words)
    talk.hears("yes")
    assert outcomes(talk) == ["failed"]


def test_once_drugs_are_in_it_counts_at_once(opened) -> None:
    """Nobody has said that an attempt begins, but one may well have."""
    talk = opened("we must go now", "drugs in")
    talk.waits(50)
    talk.hears("can't get it in")
    assert outcomes(talk) == ["failed"]


def test_a_second_look_that_nobody_declared_is_counted(opened) -> None:
    """It was the first that failed once more, however often: the plan after three never came."""
    talk = opened("we must go now", "drugs in", "can't get it in")
    talk.hears("can't get it in")
    assert outcomes(talk) == ["failed"]  # said by two
    talk.waits(SAID_AGAIN_WITHIN_S + 30)
    assert texts(talk.hears("can't get it in"))[-1] == ASKED_BACK.another_failed
    said = texts(talk.hears("yes"))
    assert outcomes(talk) == ["failed", "failed"]
    assert any(one.startswith("Second attempt has failed.") for one in said)
    told = [row.text for row in talk.rows if row.data.get("event") == "attempt-failed"]
    assert told == ["attempt 1 has failed", "attempt 2 has failed"]


def test_through_the_cords_is_by_the_mouth(opened) -> None:
    """Also while the neck is being opened, where "we're in" is through the neck."""
    talk = opened(*AT_THE_NECK, "through the cords")
    assert outcomes(talk)[-1] == "tube in"
    assert talk.case.known.phase is Phase.AFTER
    talk = opened(*AT_THE_NECK, "we're in")
    assert talk.case.known.phase is Phase.NECK_OPEN


def test_through_the_cords_may_be_the_bougie(opened) -> None:
    """It was taken for the tube, and its attempt's clock stopped."""
    talk = opened("we must go now", "drugs in", "begin the attempt")
    assert texts(talk.hears("i'm through the cords")) == [ASKED_BACK.tube_past_cords]
    talk.hears("no")
    assert talk.case.state is State.ATTEMPTING
    talk.hears("i'm through the cords")
    talk.hears("yes")
    assert talk.case.known.phase is Phase.AFTER


def test_a_blade_at_the_neck_is_asked_after(opened) -> None:
    """A second attempt began, and the neck's items were gone."""
    talk = opened(*AT_THE_NECK)
    assert texts(talk.hears("blade in"))[-1] == ASKED_BACK.look_by_mouth
    talk.hears("no")
    assert talk.case.known.phase is Phase.FRONT_OF_NECK
    talk.hears("blade in")
    talk.hears("yes")
    assert talk.case.state is State.ATTEMPTING


@pytest.mark.parametrize("words", ["no trace", "flat line"])
def test_a_trace_that_is_gone_later_is_asked_back(opened, words) -> None:
    """It was only heard while the wave was asked for."""
    talk = opened(*TUBE)
    assert texts(talk.hears(words))[-1] == ASKED_BACK.wave_lost
    talk.hears("no")
    assert talk.case.known.airway is Phase.AFTER
    talk.hears(words)
    talk.hears("yes")
    assert talk.case.known.airway is None


def test_with_nothing_in_it_is_about_a_machine(opened) -> None:
    """Which somebody tests."""
    talk = opened("begin", "no trace")
    assert talk.case.state is State.ASKING
    assert talk.case.known.doubt is None


def test_a_wave_that_is_there_ends_the_doubt(opened) -> None:
    """Nothing but a no was heard, and a yes took the tube out."""
    talk = opened("we must go now", "begin the attempt", "tube in")
    talk.hears("no trace", sure=False)
    assert talk.case.state is State.DOUBTING
    said = texts(talk.hears("good wave"))
    assert talk.case.known.doubt is None
    assert "wave" in said[-1]
    assert talk.case.known.airway is Phase.AFTER


def test_who_comes_out_with_a_supraglottic_in_is_asked_about_that(opened) -> None:
    """ "Tube out?" invited a yes."""
    talk = opened("we must go now", "begin the attempt", "supraglottic in", "good wave", "yes")
    assert texts(talk.hears("coming out"))[-1] == ASKED_BACK.rescue_out
    talk.hears("no")
    assert talk.case.known.airway is Phase.SUPRAGLOTTIC_IN


@pytest.mark.parametrize("words", ["it won't go in", "can't get it in"])
def test_what_will_not_go_in_beside_a_tube_never_takes_it_out(opened, words) -> None:
    """However often it is said of a gastric tube."""
    talk = opened(*TUBE)
    for _ in range(3):
        assert texts(talk.hears(words))[-1] == ASKED_BACK.tube_out
    talk.hears("no")
    assert talk.case.known.airway is Phase.AFTER


def test_a_drug_that_goes_in_during_the_attempt_is_on_record(opened) -> None:
    """It was lost."""
    talk = opened("we must go now", "begin the attempt")
    assert texts(talk.hears("rocuronium in"))[0] == "Rocuronium in."
    assert [one.drug for one in talk.case.known.given] == ["rocuronium"]
    assert talk.case.state is State.ATTEMPTING


def test_a_wave_that_is_there_ends_a_doubt_that_another_item_met(opened) -> None:
    """Only while the wave was the item that is asked."""
    talk = opened(*TUBE)
    talk.hears("no trace")
    talk.hears("good wave")
    assert talk.case.known.doubt is None
    assert talk.case.known.airway is Phase.AFTER


def test_no_tube_of_nobody_s_attempt_is_a_failed_one(opened) -> None:
    """ "He's extubated", before anybody has looked."""
    talk = opened("begin", "we saw the mask held on")
    assert SITE.wording.vital.tube_out in texts(talk.hears("he's extubated"))
    assert outcomes(talk) == []


def test_no_breath_while_the_patient_wakes_up_leads_to_the_rescue_airway(opened) -> None:
    """Not to the neck at once."""
    talk = opened("we must go now", "drugs in", "wake him up", "can't bag")
    assert talk.case.known.phase is Phase.SUPRAGLOTTIC


def test_no_wave_is_heard_while_a_tube_in_is_asked_back(opened) -> None:
    """The attempt has failed by it, as by "there's no wave"; it was ignored."""
    talk = opened("we must go now", "begin the attempt", "~tube in", "no wave")
    assert talk.case.known.attempts[-1].outcome == "failed"
    assert "No wave: take it out and bag, unless proven otherwise." in talk.said
    talk = opened("we must go now", "begin the attempt", "~tube in")
    assert talk.hears("no wave", sure=False)[-1].text == "No wave, correct?"
    talk.hears("no")
    assert talk.case.state is State.ATTEMPTING


def test_a_plain_no_to_a_tube_in_is_no_more_than_that(opened) -> None:
    """It denies a wave where that is asked for, and nothing here."""
    talk = opened("we must go now", "begin the attempt", "~tube in", "no")
    assert talk.case.state is State.ATTEMPTING
    assert talk.case.known.attempts[-1].outcome is None
