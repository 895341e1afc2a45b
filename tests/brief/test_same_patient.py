"""A case that was cut short: whose it is, the weight, and the dose that was asked for."""

import pytest

from assistant.brief.case import Case
from assistant.brief.phases import Phase
from assistant.brief.states import State
from tests.brief.conftest import OFF_AND_ON, SITE

TOLD = ("begin", "we must go now", "the weight is seven zero kilos", "yes")
FAILED = (*TOLD, "drugs in", "begin the attempt", "the attempt failed")
SAME = SITE.wording.live.same_patient
WEIGHT = "I heard seventy: seven zero, kilograms. Correct?"


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def test_the_next_patient_gets_nothing_of_the_one_before(opened) -> None:
    """A no, which may be said of anything, leads to whether that case is over; a yes to that ends
    it on record, and says that another one is wanted."""
    talk = opened(*TOLD, "allergic to latex", "yes")
    assert texts(talk.restarts(rebooted=True)) == [SAME]

    assert texts(talk.hears("no")) == [SITE.wording.says.end_case]
    assert talk.case.state is State.CLOSING

    assert texts(talk.hears("yes")) == [SITE.wording.says.ended]

    assert talk.case.state is State.ENDED
    assert talk.conversation.another_patient
    (ended,) = [row for row in talk.rows if row.data.get("event") == "ended"]
    assert ended.text == "another patient: the case is ended"


def test_a_no_that_was_not_meant_ends_nothing(opened) -> None:
    """The case goes on; whose it is is asked before any dose."""
    talk = opened(*TOLD, OFF_AND_ON, "no", "no")
    assert talk.case.state is not State.ENDED
    assert talk.case.known.patient_in_doubt
    assert texts(talk.hears("how much ketamine"))[-1] == SAME


def test_who_says_that_it_is_the_same_has_answered_it(opened) -> None:
    """In the question's own words."""
    talk = opened(*TOLD, OFF_AND_ON)
    assert texts(talk.hears("same patient"))[0] == SITE.wording.live.restarted
    assert not talk.case.known.patient_in_doubt


@pytest.mark.parametrize("words", ["open a new case", "start a new case", "different patient"])
def test_who_opens_a_case_then_has_answered_it(opened, words) -> None:
    """It needs no read-back: it was asked."""
    talk = opened(*TOLD, OFF_AND_ON)
    talk.hears(words)
    assert talk.case.state is State.ENDED
    assert talk.conversation.another_patient


def test_a_yes_takes_the_case_up_as_after_a_moment(opened) -> None:
    """The clocks that nobody knows, then the weight."""
    talk = opened(*TOLD, "drugs in", OFF_AND_ON)

    lines = talk.hears("yes")

    assert lines[0].text == SITE.wording.live.restarted
    assert "Drugs in: unknown since the restart." in texts(lines)
    assert lines[-1].text == WEIGHT
    assert not talk.case.known.patient_in_doubt


def test_a_moment_asks_nothing(opened) -> None:
    """A program that was started anew, and a machine that was off for a minute by its clocks."""
    talk = opened(*TOLD)
    assert texts(talk.restarts())[-1] == WEIGHT
    talk.hears("yes")
    assert texts(talk.restarts(rebooted=True, away_s=60.0))[-1] == WEIGHT


@pytest.mark.parametrize(
    "words", ["how much rocuronium", "begin", "the weight is eight zero kilos", "~no", "say again"]
)
def test_whatever_else_is_said_the_patient_is_asked_first(opened, words) -> None:
    """No dose, no fact, and no doubtful no ends the case."""
    talk = opened(*TOLD, OFF_AND_ON)

    lines = talk.hears(words.removeprefix("~"), sure=words[0] != "~")

    assert lines[-1].tag in ("same-patient", "again")
    assert talk.case.state is State.IDENTIFYING
    assert not [line for line in talk.lines if line.tag == "dose"]


def test_nobody_answers_for_long_and_it_is_still_open(opened) -> None:
    """It falls silent, and asks again when somebody speaks."""
    talk = opened(*TOLD, OFF_AND_ON)
    talk.waits(120.0)
    assert talk.waits(600.0) == []
    assert talk.hears("begin")[-1].text == SAME
    talk.hears("yes")
    assert not talk.case.known.patient_in_doubt


def test_a_vital_word_counts_and_the_patient_is_asked_before_a_dose(opened) -> None:
    """The attempt begins at once; its dose waits for the patient, then for the weight."""
    talk = opened(*TOLD, OFF_AND_ON, "begin the attempt", "the attempt failed")
    assert talk.case.known.phase is Phase.BETWEEN
    assert SAME not in texts(talk.lines[-2:])

    assert texts(talk.hears("how much rocuronium")) == [SAME]
    assert texts(talk.hears("yes"))[-1] == WEIGHT
    told = talk.hears("yes")

    assert [line.tag for line in told if line.tag in ("quote", "dose")]
    assert Case.rebuilt(SITE.brief, talk.rows).known == talk.case.known


def test_a_vital_word_in_doubt_that_is_denied_asks_for_the_patient_again(opened) -> None:
    """Room talk does not make the case of yesterday this one's."""
    talk = opened(*TOLD, OFF_AND_ON, "~tube in")
    assert texts(talk.hears("no"))[-1] == SAME
    assert talk.case.state is State.IDENTIFYING


def test_asked_and_killed_it_is_asked_again(opened) -> None:
    """Also when the program is back at once; a yes leads to where the case was before."""
    talk = opened(*TOLD, "hold on")
    talk.restarts(rebooted=True)
    assert texts(talk.restarts()) == [SAME]
    talk.hears("yes")
    assert talk.case.state is State.HELD


def test_opening_a_case_in_a_case_asks_whether_that_one_is_over(opened) -> None:
    """It was ignored in silence."""
    talk = opened(*TOLD)
    assert texts(talk.hears("open a new case")) == [SITE.wording.says.end_case]
    talk.hears("no")
    assert talk.case.state is State.READY


@pytest.mark.parametrize(
    ("said", "phase"),
    [
        ((), Phase.BETWEEN),
        (("go for the supraglottic",), Phase.SUPRAGLOTTIC),
        (("can't oxygenate",), Phase.FRONT_OF_NECK),
    ],
)
def test_after_a_failed_attempt_the_weight_waits_for_a_dose(opened, said, phase) -> None:
    """What was asked of the airway is asked again, and its answer is heard."""
    talk = opened(*FAILED, *said)
    assert talk.case.known.phase is phase
    asked = talk.case.known.current

    lines = talk.restarts()

    assert WEIGHT not in texts(lines)
    assert talk.case.known.current == asked is not None
    assert texts(talk.hears("how much rocuronium"))[-1] == WEIGHT


def test_a_dose_that_was_asked_for_is_not_forgotten(opened) -> None:
    """Killed at the read-back of the drug: the weight first, then the same read-back."""
    talk = opened(*TOLD, "begin")
    (quoted,) = talk.hears("how much rocuronium", sure=False)
    assert talk.case.state is State.QUOTING

    assert texts(talk.restarts())[-1] == WEIGHT
    assert talk.hears("yes")[-1].text == quoted.text
    assert "dose" in [line.tag for line in talk.hears("yes")]


@pytest.mark.parametrize(("said", "asked"), [("tube in", "tube_in"), ("cardiac arrest", "arrest")])
def test_what_was_asked_back_is_asked_back_again_once_it_is_the_same_patient(
    opened, said, asked
) -> None:
    """However often it was cut short; and a yes to the patient is none to that."""
    talk = opened("we must go now", "begin the attempt", f"~{said}")
    talk.restarts(rebooted=True)
    assert texts(talk.restarts(rebooted=True)) == [SAME]
    again = texts(talk.hears("yes"))
    assert again[-1] == getattr(SITE.wording.vital.asked_back, asked)
    assert talk.case.known.attempt is not None
    assert not talk.case.known.is_arrested
    talk.hears("yes")
    assert talk.case.known.is_arrested or talk.case.known.phase is Phase.AFTER


def test_what_was_asked_back_is_open_no_more_once_something_else_came_first(opened) -> None:
    talk = opened("we must go now", "begin the attempt", "~tube in")
    talk.restarts(rebooted=True)
    talk.hears("the attempt failed")
    assert talk.case.known.attempts[-1].outcome == "failed"
    assert talk.case.known.asked_back is None
    assert talk.case.state is not State.DOUBTING


def test_in_an_attempt_the_restart_is_told_in_a_word(opened) -> None:
    """For eight seconds nobody who looked was heard; and that nothing times the attempt is told."""
    talk = opened("begin", "he's seventy kilos", "yes", "we must go now", "begin the attempt")
    assert texts(talk.restarts()) == ["Restarted."]
    said = texts(talk.restarts(rebooted=True, away_s=30.0))
    assert said == ["Restarted.", "Attempt: unknown since the restart."]
    talk.hears("attempt failed")
    assert "First the weight, once more." in texts(talk.hears("how much ketamine"))
