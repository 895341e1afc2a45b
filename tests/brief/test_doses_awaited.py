"""Whoever asks for a dose is not to ask twice: what comes before it is settled, and it is told."""

import pytest

from assistant.brief.item import Standing
from assistant.brief.moment import Moment
from assistant.brief.states import State
from assistant.brief.summing_up import of_the_patient
from assistant.brief.unsettled import DOSE_AWAITED_S
from tests.brief.test_pause_and_times import to_the_pause

WEIGHED = ("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")

SEVENTY = "Ketamine, for seventy: seven zero, kilograms. Correct?"


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def test_the_weight_is_asked_for_at_once_and_the_dose_follows(opened) -> None:
    """Nobody has to say the weight in a sentence, or the question again; then the brief goes on.
    So it is late in a case, too."""
    talk = opened("begin", "we saw the mask held on")
    talk.waits(DOSE_AWAITED_S + 5)
    before = talk.case.known.current
    said = texts(talk.hears("how much ketamine"))
    assert said[-1].endswith("Weight in kilograms?")
    talk.hears("eighty kilos")
    said = texts(talk.hears("yes"))
    assert said[1].startswith("Ketamine for induction, eighty kilograms")
    assert talk.case.known.current == before


def test_a_weight_put_right_at_the_read_back_of_a_dose_leads_to_it(opened) -> None:
    """ "No, eighty": the patient's own weight is read back, and then the drug for that."""
    talk = opened("begin", "he's seventy kilos", "yes", "how much rocuronium", "no, eighty")
    said = texts(talk.hears("yes"))
    assert "Rocuronium, not vecuronium, for eighty" in said[-1]
    said = texts(talk.hears("yes"))
    assert said[0].startswith("Rocuronium for paralysis, eighty kilograms")


def test_after_a_restart_the_dose_follows_the_weight(opened) -> None:
    """It is read back first, and nobody has to ask again."""
    talk = opened("begin", "he's seventy kilos", "yes")
    talk.case.known.weight_in_doubt = True
    assert "seventy" in texts(talk.hears("how much ketamine"))[-1]
    said = texts(talk.hears("yes"))
    assert said[1].startswith("Ketamine for induction, seventy kilograms")


def test_nobody_waits_for_a_dose_for_ever(opened) -> None:
    """A weight that is told a minute later is only noted."""
    talk = opened("begin", "we saw the mask held on", "how much ketamine")
    talk.waits(DOSE_AWAITED_S + 5)
    talk.hears("eighty kilos")
    assert not any("milligrams" in one for one in texts(talk.hears("yes")))


def test_a_dose_that_was_awaited_is_told_once(opened) -> None:
    """Another weight soon after only makes it void: nobody asked for it again."""
    talk = opened("begin", "how much ketamine", "eighty kilos", "yes")
    talk.hears("the weight is seventy kilos")
    said = texts(talk.hears("yes"))
    assert any("ketamine" in one.lower() for one in said)  # that its dose is another one now
    assert not any("milligrams" in one for one in said)


def test_another_fact_meanwhile_does_not_ask_for_the_weight_again(opened) -> None:
    """It is noted, and the weight is still asked for."""
    talk = opened("begin", "we saw the mask held on", "how much ketamine")
    talk.hears("she's allergic to latex")
    said = texts(talk.hears("yes"))
    assert not any("no weight" in one for one in said)
    assert talk.case.current.figure == "weight_kg"
    assert talk.case.standing(talk.case.item("weight")) is Standing.OPEN


def test_two_allergies_in_a_row_are_both_read_back(opened) -> None:
    """ "And latex", said before the yes to the first."""
    talk = opened("begin", "she's allergic to penicillin")
    assert "latex" in texts(talk.hears("and latex"))[-1]
    talk.hears("yes")
    talk.hears("yes")
    assert talk.case.known.allergies == ["latex", "penicillin"]


def test_a_drug_that_was_not_surely_heard_is_read_back_before_its_dose(opened) -> None:
    """Also one whose name sounds like no other's."""
    talk = opened("begin", "he's seventy kilos", "yes")
    assert texts(talk.hears("how much ketamine", sure=False)) == [SEVENTY]
    assert texts(talk.hears("yes"))[0].startswith("Ketamine for induction, seventy kilograms")


def test_it_is_read_back_as_well_when_it_had_to_wait_for_the_weight(opened) -> None:
    """How it was heard is not forgotten meanwhile."""
    talk = opened("begin", "we saw the mask held on")
    talk.hears("how much ketamine", sure=False)
    talk.hears("eighty kilos")
    assert texts(talk.hears("yes"))[-1] == "Ketamine, for eighty: eight zero, kilograms. Correct?"


def test_it_is_read_back_as_well_after_a_restart(opened) -> None:
    """Nobody knows any more how it was heard."""
    talk = opened("begin", "he's seventy kilos", "yes")
    talk.hears("how much ketamine", sure=False)
    talk.restarts(rebooted=True)
    talk.hears("yes")
    assert texts(talk.hears("yes"))[-1] == SEVENTY


def a_dose_in(lines) -> bool:
    return any("milligrams" in one for one in texts(lines))


def test_a_childs_age_ends_the_question_that_is_open(opened) -> None:
    """A yes to the drug and the old weight told an adult's dose to a child."""
    talk = opened(*WEIGHED, "how much rocuronium")
    said = texts(talk.hears("he's six years old"))
    assert "only know doses for an age" in said[0]
    assert not any("Rocuronium" in one for one in said)
    assert not a_dose_in(talk.hears("yes"))
    assert "only know doses for an age" in texts(talk.hears("how much rocuronium"))[0]


def test_a_childs_age_bars_a_dose_at_its_check_too(opened) -> None:
    """What must be excluded before the drug was excluded, of a patient who gets none."""
    talk = opened(*WEIGHED, "how much succinylcholine", "he's six years old")
    assert not a_dose_in(talk.hears("yes confirmed"))


def test_after_a_childs_age_the_pause_sums_up_no_dose(opened) -> None:
    """It says instead for whom there are doses, until another age is told."""
    talk = opened(*WEIGHED, "how much ketamine", "he's six years old")
    said = "".join(pause_lines(talk))
    assert "milligrams" not in said
    assert "only know doses for an age" in said
    talk.hears("he's sixty years old")
    talk.hears("yes")
    assert "milligrams" in "".join(pause_lines(talk))


def pause_lines(talk) -> list[str]:
    """What the pause would say of the patient now."""
    return list(of_the_patient(Moment(talk.site, talk.case)))


def test_a_weight_in_doubt_is_read_back_before_the_dose_that_was_asked_for(opened) -> None:
    """The check of the drug names no weight, so its yes is none to the weight."""
    talk = opened(*WEIGHED, "how much succinylcholine")
    assert "seventy" in texts(talk.hears("the weight is three zero zero kilos"))[-1]
    assert not a_dose_in(talk.hears("yes"))
    assert a_dose_in(talk.hears("yes confirmed"))


@pytest.mark.parametrize("back", [("hang on", "go on"), ("cardiac arrest", "he's got a pulse")])
def test_a_question_from_before_a_restart_goes_by_a_weight_with_a_new_yes(opened, back) -> None:
    """Whatever laid it aside: it had just said that the weight has to be confirmed again."""
    talk = opened(*WEIGHED, "how much succinylcholine", back[0])
    talk.restarts()
    talk.hears(back[1])
    said = talk.hears("yes confirmed")
    assert not a_dose_in(said)
    assert "seventy" in texts(said)[-1]
    assert a_dose_in(talk.hears("yes"))
    assert not talk.case.known.weight_in_doubt


def test_the_pause_is_not_passed_with_a_weight_in_doubt(opened) -> None:
    """It summed up seventy kilograms, and was passed."""
    talk = opened("begin")
    to_the_pause(talk)
    assert "seven" in texts(talk.hears("the weight is three zero zero kilos"))[-1]
    talk.hears("hang on")
    talk.hears("go on")
    assert talk.case.state is State.STATING
    talk.hears("yes")
    assert talk.case.state is State.PAUSING
    talk.case.known.weight_in_doubt = True
    assert "Correct?" in texts(talk.hears("clear to go"))[-1]
    assert "No weight" in " ".join(pause_lines(talk))


def test_an_unsure_drug_has_no_yes_by_another_weight(opened) -> None:
    """The number was heard for sure, the drug was not."""
    talk = opened(*WEIGHED, "~how much ketamine", "no eight zero")
    said = talk.hears("yes")
    assert not a_dose_in(said)
    assert "Ketamine, for eighty" in texts(said)[-1]
    assert a_dose_in(talk.hears("yes"))


def test_a_drug_that_is_read_back_waits_for_a_weight_told_meanwhile(opened) -> None:
    """Its question was gone once the weight had its yes."""
    talk = opened(*WEIGHED, "how much rocuronium", "the weight is eight zero kilos")
    assert "Rocuronium, not vecuronium, for eighty" in texts(talk.hears("yes"))[-1]


@pytest.mark.parametrize("told", ["he's allergic to latex", "she's pregnant"])
def test_it_waits_for_whatever_else_its_dose_goes_by(opened, told) -> None:
    """An allergy may bar it, and something special may as well."""
    talk = opened(*WEIGHED, "how much rocuronium", told)
    said = texts(talk.hears("yes"))
    assert "Rocuronium, not vecuronium, for seventy" in said[-1]


def test_all_doses_asked_for_before_the_weight_are_told_in_that_order(opened) -> None:
    """Only the last was; the first who asked had to ask again, and did not know it."""
    talk = opened("begin", "we saw the mask held on", "how much ketamine")
    assert len(texts(talk.hears("how much rocuronium"))) == 1  # that there is no weight was said
    talk.hears("how much etomidate")
    talk.hears("eighty kilos")
    said = texts(talk.hears("yes"))
    assert said[1].startswith("Ketamine for induction, eighty kilograms")
    assert said[2].startswith("Rocuronium, not vecuronium, for eighty")
    said = texts(talk.hears("yes"))
    assert said[0].startswith("Rocuronium for paralysis, eighty kilograms")
    assert said[1].startswith("Etomidate, for eighty")
    assert texts(talk.hears("yes"))[0].startswith("Etomidate for induction, eighty kilograms")


def test_a_no_to_the_first_leads_to_the_next(opened) -> None:
    """It was misheard; the one who asked for the other waits still."""
    talk = opened("begin", "how much vecuronium", "how much ketamine", "eighty kilos", "yes")
    said = texts(talk.hears("no"))
    assert said == ["Question dropped.", "Ketamine, for eighty: eight zero, kilograms. Correct?"]


def test_what_was_being_answered_comes_before_what_waits(opened) -> None:
    """An allergy is told at the read-back of the first of two."""
    talk = opened("begin", "how much rocuronium", "how much ketamine", "eighty kilos", "yes")
    talk.hears("he's allergic to latex")
    said = texts(talk.hears("yes"))
    assert "Rocuronium, not vecuronium, for eighty" in said[-1]
    assert texts(talk.hears("yes"))[1].startswith("Ketamine, for eighty")


def test_of_a_drug_that_went_in_meanwhile_no_dose_is_told(opened) -> None:
    """Nobody waits for it any more."""
    talk = opened("begin", "how much ketamine", "how much etomidate", "ketamine in", "eighty kilos")
    said = texts(talk.hears("yes"))
    assert not any("Ketamine" in one for one in said)
    assert any(one.startswith("Etomidate for induction, eighty") for one in said)


@pytest.mark.parametrize("rebooted", [False, True])
def test_a_dose_that_waits_for_a_weight_is_told_after_a_restart(opened, rebooted) -> None:
    """It was lost with the program, and nobody was told that it was."""
    talk = opened("begin", "how much ketamine", "how much etomidate")
    talk.waits(DOSE_AWAITED_S - 10)
    talk.restarts(rebooted=rebooted, away_s=30.0)  # nobody was heard: the time begins anew
    talk.waits(20)
    talk.hears("eighty kilos")
    said = texts(talk.hears("yes"))
    assert said[1].startswith("Ketamine for induction, eighty kilograms")
    assert said[2].startswith("Etomidate, for eighty")


def test_so_it_is_once_the_patient_is_said_to_be_the_same(opened) -> None:
    """Nobody knows for how long the box was off."""
    talk = opened("begin", "how much ketamine")
    talk.restarts(rebooted=True)
    talk.hears("same patient")
    talk.hears("eighty kilos")
    assert texts(talk.hears("yes"))[1].startswith("Ketamine for induction, eighty kilograms")


def test_go_back_waits_for_no_dose(opened) -> None:
    """What was asked for on the way there is not told unasked."""
    talk = opened("begin", "we saw the mask held on", "how much ketamine", "go back")
    assert not talk.case.known.doses_awaited


def test_a_dose_asked_for_before_the_patient_is_said_to_be_the_same_is_told(opened) -> None:
    """Whoever asked had to ask again, once that was answered; and no weight is known yet."""
    talk = opened("begin")
    talk.restarts(rebooted=True)
    assert texts(talk.hears("how much ketamine"))[-1].endswith("Same patient?")
    said = texts(talk.hears("same patient"))
    assert said[-1] == "Leader. Weight in kilograms?"
    talk.hears("eighty kilos")
    assert texts(talk.hears("yes"))[1].startswith("Ketamine for induction, eighty kilograms")


def test_of_another_patient_no_dose_is_told(opened) -> None:
    """The case is over."""
    talk = opened("begin", "he's seventy kilos", "yes")
    talk.restarts(rebooted=True)
    talk.hears("how much ketamine")
    assert not a_dose_in(talk.hears("different patient"))


@pytest.mark.parametrize("told", ["she's a woman", "the height is one seven five centimetres"])
@pytest.mark.parametrize("answer", ["yes", "no"])
def test_whatever_is_told_meanwhile_a_drug_is_read_back_again(opened, told, answer) -> None:
    """Its question was gone, unless its dose goes by that; also where it was misheard."""
    talk = opened(*WEIGHED, "how much rocuronium", told)
    assert "Rocuronium, not vecuronium, for seventy" in texts(talk.hears(answer))[-1]
