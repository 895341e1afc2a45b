"""Who says to wait is not left alone: what is asked and told meanwhile, at Tarn Hollow, in text."""

from collections.abc import Callable, Iterator

import pytest

from assistant.brief.states import State
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from assistant.site.site import Site

Opened = Callable[..., TextCase]
TOLD_WEIGHT = ("the weight is seven zero kilos", "yes correct")


@pytest.fixture(scope="module")
def phrases(site: Site) -> TypedPhrases:
    return TypedPhrases(Phrasebook(site))


@pytest.fixture
def opened(site: Site, phrases: TypedPhrases) -> Iterator[Opened]:
    """A case in which these words have been said."""
    cases: list[TextCase] = []

    def case(*words: str) -> TextCase:
        talk = TextCase(site, phrases=phrases)
        cases.append(talk)
        for one in words:
            talk.hears(one)
        return talk

    yield case
    for one in cases:
        one.close()


def tags(talk: TextCase, words: str) -> list[str]:
    return [line.tag for line in talk.hears(words)]


def test_a_dose_is_told_in_a_hold_and_the_hold_goes_on(opened: Opened) -> None:
    """Its read-back and its yes end the question, and not the hold."""
    talk = opened(*TOLD_WEIGHT, "begin", "hang on")

    assert tags(talk, "dose of rocuronium") == ["quote"]
    assert tags(talk, "yes correct") == ["dose", "held"]
    assert talk.case.state is State.HELD
    assert tags(talk, "go on") == ["resumed", "ask"]


@pytest.mark.parametrize("words", ["no", "yes correct"])
def test_what_is_told_of_the_patient_in_a_hold_is_read_back(opened: Opened, words: str) -> None:
    """An allergy that comes to somebody's mind then is not lost."""
    talk = opened("begin", "hang on", "the patient is allergic to penicillin")
    assert talk.case.state is State.STATING

    talk.hears(words)

    assert talk.case.state is State.HELD
    assert talk.case.known.allergies == (["penicillin"] if words == "yes correct" else [])


def test_a_drug_that_goes_in_during_a_hold_starts_its_clock(opened: Opened) -> None:
    """The debrief, and the call after a minute, go by it."""
    talk = opened("begin", "hang on", "rocuronium in")

    assert [given.drug for given in talk.case.known.given] == ["rocuronium"]
    assert talk.case.known.clocks["drugs in"].running
    assert talk.case.state is State.HELD


def test_in_an_arrest_the_clocks_are_told(opened: Opened) -> None:
    """And nothing besides: who compresses the chest is not told that the brief still waits."""
    talk = opened("begin", "cardiac arrest")

    assert set(tags(talk, "how long has it been")) == {"elapsed"}
    assert talk.case.state is State.HELD
    assert talk.waits(300) == []


def test_who_said_to_wait_is_reminded_after_a_minute(opened: Opened) -> None:
    """Once a minute; whoever asked for silence once, as it may have been asked of somebody else."""
    talk = opened("begin", "hang on")

    assert talk.waits(50) == []
    assert [line.text for line in talk.waits(75)] == ["Still holding. Say: go on."] * 2
    assert [line.tag for line in opened("begin", "stop").waits(300)] == ["reminded"]


def test_a_stop_in_a_hold_asks_for_silence(opened: Opened) -> None:
    """It is the same hold: to go on leads back to the item."""
    talk = opened("begin", "hang on", "stop")

    assert talk.waits(50) == []
    assert tags(talk, "go on") == ["resumed", "ask"]


def test_a_vital_word_ends_a_hold_from_within_a_question(opened: Opened) -> None:
    """The question is taken up again after it, as ever, and leads back to no hold."""
    talk = opened(*TOLD_WEIGHT, "begin", "hang on", "dose of rocuronium", "begin the attempt")
    assert talk.case.state is State.ATTEMPTING

    talk.hears("the attempt failed")
    while talk.case.state is State.ASKING:
        talk.hears("not yet")
    assert talk.case.state is State.QUOTING
    talk.hears("yes correct")
    assert talk.case.state is not State.HELD


def test_a_hold_within_a_question_within_a_hold_is_one_hold(opened: Opened) -> None:
    """One "go on" ends it; the question comes again, and leads back to no hold."""
    talk = opened(*TOLD_WEIGHT, "begin", "hang on", "dose of rocuronium", "hang on")
    assert talk.case.state is State.HELD

    talk.hears("go on")
    assert talk.case.state is State.QUOTING
    talk.hears("yes correct")
    assert talk.case.state is State.ASKING


def test_a_question_that_a_hold_put_off_is_not_asked_of_a_drug_that_is_in(opened: Opened) -> None:
    """Nobody waits for its dose any more."""
    talk = opened(*TOLD_WEIGHT, "begin", "dose of rocuronium", "hang on", "rocuronium in")
    talk.hears("go on")
    assert talk.case.state is State.ASKING


def test_a_case_that_is_not_to_end_goes_on(opened: Opened) -> None:
    """As in records of earlier versions, whose asides led back there."""
    talk = opened("begin", "hang on", "end the case", "no")
    assert talk.case.state is State.ASKING


def test_what_was_just_told_is_said_again(opened: Opened) -> None:
    """A volume that nobody caught; the item that is asked comes after it, and alone once that was
    answered."""
    talk = opened(*TOLD_WEIGHT, "begin", "dose of rocuronium")
    told = talk.hears("yes correct")
    assert [line.tag for line in told] == ["dose", "ask"]

    assert talk.hears("what was that") == told
    assert talk.hears("say again") == told
    talk.hears("not yet")
    assert tags(talk, "say again") == ["ask"]


def test_the_dose_is_told_once_more_when_it_is_asked_for(opened: Opened) -> None:
    """Later, without another read-back, and for the weight that is known now."""
    talk = opened(*TOLD_WEIGHT, "begin", "dose of rocuronium", "yes correct", "not yet")

    (dose, _) = talk.hears("what was the dose")
    assert "eighty-four milligrams" in dose.text
    for words in ("the weight is eight zero kilos", "yes correct"):
        talk.hears(words)
    (dose, _) = talk.hears("what was the dose")
    assert "ninety-six milligrams" in dose.text


def test_a_dose_for_another_weight_is_told_again_as_that(opened: Opened) -> None:
    """A what-if stays one."""
    talk = opened("begin", "dose of rocuronium for nine zero kilos", "yes correct", "not yet")

    (dose, _) = talk.hears("say the dose again")
    assert dose.text.startswith("For that weight only")
    assert "one hundred and eight milligrams" in dose.text


def test_who_asks_for_a_dose_that_was_never_told_hears_so(opened: Opened) -> None:
    """And is not left without an answer."""
    assert tags(opened("begin"), "what was the dose") == ["no-dose", "ask"]


@pytest.mark.parametrize("hold", ["hang on", "stop"])
def test_what_was_not_surely_heard_in_a_hold_is_not_asked_for_again(
    opened: Opened, hold: str
) -> None:
    """It is mostly talk then; a vital word, a dose and a fact are read back all the same."""
    talk = opened(*TOLD_WEIGHT, "begin", hold)

    assert talk.hears("go on", sure=False) == []
    assert [line.tag for line in talk.hears("dose of rocuronium", sure=False)] == ["quote"]
    talk.hears("no")
    assert talk.case.state is State.HELD
    assert [line.tag for line in talk.hears("cardiac arrest", sure=False)] == ["doubt"]
