"""Patience by itself: when to ask again, and how often it was asked."""

import pytest

from assistant.brief.prompts import HOLDING
from assistant.conversation.patience import Patience
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.tags import AWAITING

AFTER_S, HELD_AFTER_S = 7.0, 60.0


@pytest.fixture
def patience() -> Patience:
    return Patience(AFTER_S, HELD_AFTER_S)


def ask(tag: str = "ask") -> Line:
    return Line("Is the suction working?", tag, "suction", Urgency.ASK)


@pytest.mark.parametrize("tag", AWAITING)
def test_it_runs_out_once_when_a_question_is_not_answered(patience: Patience, tag: str) -> None:
    """So long after the question's end, and not again before the next one."""
    patience.line_ended(ask(tag), 10.0)

    times_s = (10.0, 10.0 + AFTER_S - 0.1, 10.0 + AFTER_S, 10.0 + 2 * AFTER_S)
    assert [patience.has_run_out(at_s) for at_s in times_s] == [False, False, True, False]


def test_it_counts_how_often_was_asked(patience: Patience) -> None:
    """Each question that has been said to its end counts; to ask for a repetition does not."""
    patience.line_ended(ask(), 10.0)
    patience.line_ended(ask(), 20.0)
    patience.line_ended(Line("Sorry, please say that again.", "again"), 30.0)

    assert patience.asked_times == 2
    assert patience.has_run_out(30.0 + AFTER_S)


def test_who_speaks_is_not_asked_again(patience: Patience) -> None:
    """Nothing is due, and the count begins anew."""
    patience.line_ended(ask(), 10.0)
    patience.somebody_spoke()

    assert patience.asked_times == 0
    assert not patience.has_run_out(10.0 + AFTER_S)


def test_a_line_that_awaits_nothing_ends_the_wait(patience: Patience) -> None:
    """What was asked before it is not asked again for its own sake."""
    patience.line_ended(ask(), 10.0)
    patience.line_ended(Line("Noted.", "noted"), 12.0)

    assert not patience.has_run_out(10.0 + AFTER_S)


def test_what_is_about_safety_is_said_in_between(patience: Patience) -> None:
    """The answer that was awaited before it is awaited as before, for so much longer."""
    between = Line("Nobody watches.", "watcher-lost", urgency=Urgency.SAFETY)
    patience.line_ended(ask(), 10.0)
    patience.line_began(between, 3.0)
    patience.line_ended(between, 15.0)

    assert not patience.has_run_out(10.0 + AFTER_S + 2.9)  # nobody could answer meanwhile
    assert patience.has_run_out(10.0 + AFTER_S + 3.0)


def test_counting_anew_leaves_what_is_due(patience: Patience) -> None:
    """As after a loss of sound: asked as if for the first time, and still asked."""
    patience.line_ended(ask(), 10.0)
    patience.count_anew()

    assert patience.asked_times == 0
    assert patience.has_run_out(10.0 + AFTER_S)


def test_a_hold_runs_out_much_later_and_counts_as_no_question(patience: Patience) -> None:
    """Each time that it is said to hold."""
    patience.line_ended(Line("Holding.", HOLDING), 10.0)

    assert not patience.has_run_out(10.0 + HELD_AFTER_S - 0.1)
    assert patience.has_run_out(10.0 + HELD_AFTER_S)
    assert patience.asked_times == 0


def test_who_was_not_understood_is_asked_again_sooner(patience: Patience) -> None:
    """In a word at first; whoever is not understood then either hears the question once more."""
    patience.line_ended(ask(), 10.0)
    patience.somebody_was_unclear(13.0)

    assert patience.asks_in_a_word
    assert patience.has_run_out(13.0)
    patience.line_ended(Line("Yes, or no?", "again"), 13.6)
    patience.somebody_was_unclear(16.0)
    assert not patience.asks_in_a_word
    assert patience.has_run_out(16.0)
