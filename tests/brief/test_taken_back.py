"""A word that turned the case and was not meant: said of something else, or misheard."""

import pytest

from assistant.brief.clocks import DRUGS_CLOCK
from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State
from assistant.brief.turns import IN_AN_ATTEMPT_S, TAKEN_BACK_WITHIN_S
from assistant.debrief.replayed import replay
from assistant.rehearsal.text_case import TextCase
from tests.brief.conftest import SITE
from tests.brief.test_pause_and_times import to_the_pause

TURNS = (
    *("going in now", "drugs in", "can't oxygenate", "supraglottic airway now", "cardiac arrest"),
    *("wake him up", "we must go now", "rocuronium in"),
)
TO_A_WAVE = ("tube in", "supraglottic in")
"""Here a wave is asked for, and "no wait" sounds like "no wave"."""


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def what_is_known(talk) -> object:
    known = talk.case.known
    return (
        talk.case.state,
        *(known.phase, known.current, known.airway, known.drugs_are_in, known.is_arrested),
        *(list(known.attempts), list(known.given), dict(known.items)),
    )


@pytest.mark.parametrize(
    ("turn", "words"),
    [
        *((turn, "no wait") for turn in TURNS),
        *((turn, "scratch that") for turn in (*TURNS, *TO_A_WAVE)),
    ],
)
def test_the_case_is_as_it_was_before(opened, turn, words) -> None:
    """Whatever the word was, the brief goes on where it was."""
    talk = opened("begin", "we saw the mask held on")
    before = what_is_known(talk)
    asked = talk.case.known.current
    talk.hears(turn)
    said = texts(talk.hears(words))
    assert said[0] == f"Taken back: {turn}."
    assert what_is_known(talk) == before
    assert talk.case.known.current == asked


def test_later_these_words_are_about_something_else(opened) -> None:
    """An attempt that has run for long did begin."""
    talk = opened("we must go now", "going in now")
    talk.waits(TAKEN_BACK_WITHIN_S + 5)
    assert texts(talk.hears("no wait")) == []
    assert talk.case.state is State.ATTEMPTING


def test_an_attempt_that_is_not_over_runs_on(opened) -> None:
    """ "Coming out" was said of something else: its clock has never stopped."""
    talk = opened("we must go now", "going in now")
    talk.waits(20)
    talk.hears("coming out")
    talk.hears("scratch that")
    assert talk.case.state is State.ATTEMPTING
    assert talk.case.known.attempt is not None
    assert talk.case.known.clocks["attempt"].running


def test_what_was_answered_since_is_what_is_taken_back(opened) -> None:
    """The way back to an item, as ever."""
    talk = opened("we must go now", "going in now", "tube in", "we saw a good wave")
    talk.hears("two two")
    talk.hears("yes")
    item = talk.case.known.trail[-1]
    talk.hears("scratch that")
    assert talk.case.known.phase is Phase.AFTER
    assert talk.case.known.current == item


def test_a_word_to_a_read_back_refuses_it(opened) -> None:
    """ "No wait" after "I heard seventy" is about the seventy, not about the item before."""
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos")
    talk.hears("no wait")
    assert talk.case.known.weight_kg is None
    assert talk.case.known.current == "weight"
    assert talk.case.known.items["bag-and-valve"].standing is Standing.DONE


def test_a_feature_is_not_kept(opened) -> None:
    """It changes doses, and could not be taken back."""
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
    talk.hears("frail")
    talk.hears("no wait")
    assert not talk.case.known.features
    assert talk.case.known.current == "special"


def test_a_weight_told_later_is_read_back_once_more(opened) -> None:
    """And is refused then: the one before is in doubt, and the weight is asked for."""
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
    for words in ("he's ninety kilos", "yes", "no wait"):
        talk.hears(words)
    assert talk.case.known.weight_kg == 70
    talk.hears("no")
    assert talk.case.known.weight_kg == 70
    assert talk.case.known.weight_in_doubt
    assert talk.case.known.current == "weight"


def test_drugs_that_are_not_in_lead_back_to_the_pause(opened) -> None:
    """Their clock has not run."""
    talk = opened()
    to_the_pause(talk)
    talk.hears("drugs in")
    assert DRUGS_CLOCK in talk.case.known.clocks
    talk.hears("no wait")
    assert talk.case.state is State.PAUSING
    assert DRUGS_CLOCK not in talk.case.known.clocks


def test_at_the_pause_the_last_answer_is_asked_again_and_no_time_is_waited_anew(opened) -> None:
    """Three minutes of oxygen have been; only whether the mask was sealed is asked again."""
    talk = opened()
    to_the_pause(talk)
    said = texts(talk.hears("no wait"))
    assert SITE.brief.item("oxygen-on").ask_again in said[-1]
    assert talk.case.known.items["oxygen-on"].standing is Standing.DUE


def test_the_debrief_counts_nothing_of_it() -> None:
    """Nor does a case that is opened again from its record."""
    case = TextCase(SITE)
    for words in ("we must go now", "going in now", "coming out", "no wait", "tube in"):
        case.hears(words)
    replayed = replay(SITE.brief, case.rows)
    assert replayed.case.known.attempts == case.case.known.attempts
    assert [one.outcome for one in replayed.case.known.attempts] == ["tube in"]
    names = [one.event.name for one in replayed.happenings]
    assert "attempt-failed" not in names
    assert names.count("attempt-started") == 1
    assert "pace-between" not in replayed.came_up
    assert "pace-between" not in [one.item for one in replayed.loops]
    case.close()


@pytest.mark.parametrize(
    "between",
    [("hang on",), ("stop pacing",), ("what is the saturation",), ("~tube in", "no"), ("left",)],
)
def test_only_what_was_said_last_is_taken_back(opened, between) -> None:
    """ "No wait" after a hold took a relaxant back that was in, and an attempt that ran."""
    talk = opened("we must go now", "rocuronium in")
    for words in between:
        talk.hears(words.lstrip("~"), sure=not words.startswith("~"))
    talk.hears("no wait")
    assert [one.drug for one in talk.case.known.given] == ["rocuronium"]
    assert DRUGS_CLOCK in talk.case.known.clocks


def test_an_attempt_is_not_taken_back_by_what_is_said_to_a_helper(opened) -> None:
    """ "No, wait, more to the left"."""
    talk = opened("we must go now", "going in now")
    talk.waits(IN_AN_ATTEMPT_S + 2)
    talk.hears("no wait")
    assert talk.case.known.attempt is not None


def test_it_is_taken_back_after_a_long_plan_too(opened) -> None:
    """Nobody is heard while it is told."""
    talk = opened("we must go now", "going in now")
    talk.waits(20)
    talk.hears("coming out")
    talk.waits(5)
    talk.hears("no wait")
    assert talk.case.state is State.ATTEMPTING


@pytest.mark.parametrize("words", ["end the case", "drugs in"])
def test_no_wait_to_what_is_asked_back_is_a_no(opened, words) -> None:
    """ "Shall I end this case?" was asked twice more."""
    talk = opened("begin")
    talk.hears(words, sure=words != "drugs in")
    assert talk.case.state in (State.CLOSING, State.DOUBTING)
    talk.hears("no wait")
    assert talk.case.state is State.ASKING
    assert not talk.case.known.drugs_are_in


def test_a_second_look_past_a_rescue_airway_fails_as_any_other(opened) -> None:
    """ "It's in the gullet" led to the neck, and the attempt ran on."""
    talk = opened("we must go now", "going in now", "coming out", "supraglottic in")
    talk.hears("second attempt now")
    talk.hears("yes")
    assert talk.case.state is State.ATTEMPTING
    talk.hears("it's in the gullet")
    assert talk.case.known.attempt is None
    assert [one.outcome for one in talk.case.known.attempts] == ["failed", "failed"]


def test_a_pulse_that_was_not_meant_is_taken_back(opened) -> None:
    """ "We've got a pulse" was asked, not said: the arrest is timed on, and it is quiet again."""
    talk = opened("we must go now", "cardiac arrest")
    talk.waits(20)
    talk.hears("we've got a pulse")
    assert texts(talk.hears("no wait")) == ["Taken back: we've got a pulse."]
    assert talk.case.known.is_arrested
    assert (talk.case.state, talk.case.known.held_quietly) == (State.HELD, True)


def test_a_dose_that_was_told_of_another_weight_is_taken_back(opened) -> None:
    """The yes to its read-back was too quick: it is read back once more, and may be put right."""
    talk = opened("begin", "he's seventy kilos", "yes", "how much rocuronium", "yes")
    assert "rocuronium" in talk.case.known.doses
    said = texts(talk.hears("no wait"))
    assert (said[0], "for seventy" in said[-1]) == ("Taken back.", True)
    assert talk.case.known.doses == {}
    talk.hears("no, eighty")
    assert talk.case.known.fact.value == 80


def test_what_was_excluded_before_a_dose_is_taken_back(opened) -> None:
    """ "Wait": the potassium is high. It is asked again, and a no bars the drug."""
    talk = opened("begin", "he's seventy kilos", "yes", "how much suxamethonium", "yes confirmed")
    said = texts(talk.hears("no wait"))
    assert "high potassium" in said[-1]
    assert talk.case.known.excluded == []
    assert "Then no succinylcholine" in texts(talk.hears("no"))[0]


def test_whoever_takes_back_too_late_is_told_so(opened) -> None:
    """And is not asked an item that was done long ago."""
    talk = opened("begin", "we saw the mask held on", "drugs in")
    talk.waits(TAKEN_BACK_WITHIN_S + 5)
    assert texts(talk.hears("no wait"))[0] == SITE.wording.says.not_taken_back
    assert DRUGS_CLOCK in talk.case.known.clocks


def test_no_going_now_where_an_attempt_runs(opened) -> None:
    """In an arrest that broke into it, the attempt goes on by these words."""
    talk = opened("we must go now", "going in now", "cardiac arrest", "we must go now")
    assert (talk.case.state, len(talk.case.known.attempts)) == (State.ATTEMPTING, 1)


@pytest.mark.parametrize(
    ("turn", "word"),
    [
        ("begin the attempt", "the attempt failed"),
        ("begin the attempt", "can't oxygenate"),
        ("ketamine in", "cardiac arrest"),
    ],
)
def test_a_word_that_was_twice_unsure_is_taken_back_by_its_own_name(opened, turn, word) -> None:
    """And not what was said before it, which stands."""
    talk = opened("we must go now")
    talk.waits(2)
    talk.hears(turn)
    talk.waits(2)
    before = what_is_known(talk)
    talk.hears(word, sure=False)
    talk.hears(word, sure=False)
    assert what_is_known(talk) != before
    assert texts(talk.hears("no wait"))[0] == f"Taken back: {word}."
    assert what_is_known(talk) == before


def test_an_older_answer_is_not_said_again_for_a_word_that_was_twice_unsure(opened) -> None:
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
    assert any("milligrams" in one for one in texts(talk.hears("how much ketamine")))
    for word in ("begin the attempt", "the attempt failed"):
        talk.hears(word, sure=False)
        talk.hears(word, sure=False)
    assert not any("milligrams" in one for one in texts(talk.hears("say again")))


def test_what_was_only_asked_for_again_leaves_the_turn_before_it(opened) -> None:
    """Nothing has happened since."""
    talk = opened("we must go now")
    talk.waits(2)
    talk.hears("ketamine in")
    talk.hears("what is left", sure=False)
    assert texts(talk.hears("no wait"))[0] == "Taken back: ketamine in."


def test_no_wait_said_twice_takes_back_one_word(opened) -> None:
    """The second one is about the same: the wave that was seen before stands."""
    talk = opened("we must go now", "going in now", "tube in", "we saw a good wave", "tube out")
    talk.hears("no wait")
    wave = talk.case.known.trail[-1]
    assert texts(talk.hears("no wait"))[0] == SITE.wording.says.not_taken_back
    assert talk.case.standing(talk.case.item(wave)) is Standing.RUNNING
