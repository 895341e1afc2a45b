"""Drugs that went in: with which dose, how often, and what is told of them."""

import pytest

from assistant.brief.states import State
from tests.brief.test_cases_that_go_wrong import texts, with_doses

TUBE = ("begin the attempt", "tube in", "we saw a good wave")


@pytest.fixture
def induced(opened):
    """A case with rocuronium and ketamine in, each with its dose."""
    talk = with_doses(opened)
    for words in ("clear to go", "rocuronium in", "ketamine in"):
        talk.hears(words)
    return talk


def test_a_relaxant_is_not_crowded_out_by_a_pressor(induced) -> None:
    """Four small doses of that were all that was handed over."""
    talk = induced
    for words in TUBE:
        talk.hears(words)
    for _ in range(4):
        talk.hears("phenylephrine in")
        talk.waits(30)
    said = texts(talk.hears("handover please"))[0]
    assert "rocuronium eighty-four milligrams" in said
    assert "ketamine one hundred and five milligrams" in said
    assert "phenylephrine, four times" in said
    assert "drugs in" not in said


def test_drugs_that_nobody_named_are_told_beside_one_that_somebody_did(opened) -> None:
    """A drug that went in later made "drugs in" disappear."""
    talk = opened("we must go now", "drugs in", *TUBE)
    talk.waits(100)
    talk.hears("phenylephrine in")
    said = texts(talk.hears("handover please"))[0]
    assert "minutes ago drugs in" in said
    assert "phenylephrine" in said


def test_a_drug_of_the_same_minute_leaves_the_drugs_that_nobody_named(opened) -> None:
    """Both went in three minutes ago, and only the one with a name was told."""
    talk = opened("we must go now", "drugs in", "phenylephrine in")
    talk.waits(180)
    said = texts(talk.hears("handover please"))[0]
    assert "Three minutes ago drugs in, phenylephrine." in said


def test_what_was_given_is_told_on_asking(induced) -> None:
    """Also how long since the relaxant: the clock told of the first drugs, not of the last."""
    talk = induced
    talk.waits(300)
    talk.hears("rocuronium in")
    talk.waits(30)
    said = texts(talk.hears("how long since the relaxant"))[0]
    assert "seconds ago rocuronium, two times" in said
    assert "minutes ago ketamine" in said


def test_nothing_given_is_said_so(opened) -> None:
    """And nothing made up."""
    talk = opened("begin")
    assert texts(talk.hears("what have we given"))[0] == "No drug is in that I know of."


def test_a_second_dose_is_not_the_first_ones(induced) -> None:
    """A top-up goes on record without a dose, unless that was asked for anew."""
    talk = induced
    talk.waits(200)
    assert texts(talk.hears("rocuronium in"))[0] == "Rocuronium in."
    assert [one.dose for one in talk.case.known.given if one.drug == "rocuronium"] == ["84", None]
    talk.waits(60)
    talk.hears("dose of rocuronium")
    talk.hears("yes correct")
    assert texts(talk.hears("rocuronium in"))[0] == "Rocuronium eighty-four milligrams in."
    told = [row.text for row in talk.rows if row.data.get("drug") == "rocuronium"]
    given = [one for one in told if one.startswith("rocuronium is in")]
    assert given == [f"rocuronium is in{amount}" for amount in (", 84 mg", "", ", 84 mg")]


def test_what_went_in_has_the_figure_that_was_told(opened) -> None:
    """0.75 mg/kg for 75 kg are 56.25 mg: told as 56.3, and so it is told when it is in."""
    talk = opened("begin", "the weight is seven five kilos", "yes correct")
    told = texts(talk.hears("low pressure dose of ketamine"))[0]
    assert "fifty-six point three milligrams" in told
    assert texts(talk.hears("ketamine in"))[0] == "Ketamine fifty-six point three milligrams in."


def test_the_rate_of_an_infusion_is_no_dose_that_went_in(opened) -> None:
    """ "Propofol one thousand four hundred micrograms per minute in" was handed over."""
    talk = with_doses(opened)
    talk.hears("how much propofol infusion")
    assert texts(talk.hears("propofol in"))[0] == "Propofol in."


def test_a_bolus_half_a_minute_later_is_another(opened) -> None:
    """Only what is said back within seconds is the same."""
    talk = opened("we must go now", "drugs in", *TUBE)
    for wait_s in (2, 30, 2):
        talk.hears("propofol in")
        talk.waits(wait_s)
    assert len(talk.case.known.given) == 2


@pytest.mark.parametrize("drug", ["propofol", "midazolam"])
def test_nobody_is_induced_with_a_tube_in(opened, drug) -> None:
    """The dose that is told is that for keeping asleep, and says so."""
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
    assert "for induction" in texts(talk.hears(f"how much {drug}"))[0]
    for words in TUBE:
        talk.hears(words)
    assert "for sedation" in texts(talk.hears(f"how much {drug}"))[0]


def test_who_has_given_a_drug_does_not_wait_for_its_dose(opened) -> None:
    """Its read-back went on, also after the pulse had come back."""
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
    talk.hears("no pulse")
    talk.hears("how much epinephrine")
    assert talk.case.state is State.QUOTING
    talk.hears("epinephrine in")
    assert talk.case.known.quote is None
    assert talk.case.state is State.HELD


def test_an_arrest_that_is_not_over_is_handed_over_so(opened) -> None:
    """It was told as one that had lasted a minute."""
    talk = opened("we must go now", "no pulse")
    talk.waits(60)
    assert "In arrest, for one minute" in texts(talk.hears("handover please"))[0]
    talk.hears("we've got a pulse")
    assert "Arrest for one minute" in texts(talk.hears("handover please"))[0]


def test_a_case_that_is_not_to_end_is_as_quiet_as_before(opened) -> None:
    """ "Stand down" was said of the compressions; a "no" to it asked for the height."""
    talk = opened("begin", "no pulse", "stand down")
    assert talk.case.state is State.CLOSING
    talk.hears("no")
    assert talk.case.state is State.HELD
    assert talk.case.known.held_quietly
    assert texts(talk.waits(60)) == []


def test_who_goes_next_is_who_was_named_for_that(opened) -> None:
    """ "Nobody is named yet" was the answer, a moment after somebody was."""
    talk = opened("we must go now", "begin the attempt", "abort")
    for words in ("no", "another blade", "the consultant"):
        talk.hears(words)
    assert texts(talk.hears("who takes the next attempt"))[0] == "Next attempt: the consultant."


@pytest.mark.parametrize(
    ("asks_back", "says_no"),
    [("~cardiac arrest", "no"), ("~begin the attempt", "no"), ("end the case", "no")],
)
def test_a_drug_is_heard_while_something_is_asked_back(opened, asks_back, says_no) -> None:
    """Its clock runs from then on; and what was asked back is awaited still."""
    talk = opened("we must go now", asks_back)
    asked, state = talk.said[-1], talk.case.state
    said = [line.text for line in talk.hears("rocuronium in")]
    assert [one.drug for one in talk.case.known.given] == ["rocuronium"]
    assert talk.case.known.drugs_are_in
    assert talk.case.state is state
    assert said[-1] == asked
    talk.hears(says_no)
    assert talk.case.state is not state


@pytest.mark.parametrize(
    ("before", "after"),
    [(("~cardiac arrest",), "no"), (("hang on",), "go on"), (("~supraglottic in",), "no")],
)
def test_a_relaxant_given_while_something_is_open_leads_to_the_bag(opened, before, after) -> None:
    """Its clock ran, and nothing of the induction was ever asked."""
    talk = opened("we must go now", *before, "rocuronium in")
    assert talk.case.known.drugs_are_in
    assert texts(talk.hears(after))[-1] == "Bag. Pace the bag?"


def test_a_relaxant_that_is_in_answers_whether_the_drugs_are(opened) -> None:
    """It was asked back once more, of whoever had just said so."""
    talk = opened("we must go now", "~the drugs went in")
    assert texts(talk.hears("rocuronium in")) == ["Rocuronium in.", "Bag. Pace the bag?"]


def test_a_drug_that_is_told_again_is_heard(induced) -> None:
    """Two tell it within a minute: who hears no answer tells it a third time."""
    assert texts(induced.hears("rocuronium in"))[0] == "Rocuronium in."


def test_a_drug_that_goes_in_leaves_the_dose_of_another_awaited(induced) -> None:
    """Only its own question is settled by that."""
    induced.hears("what is the dose of fentanyl for eighty kilos")
    assert induced.case.state is State.QUOTING
    induced.hears("phenylephrine in")
    assert induced.case.known.quote is not None
