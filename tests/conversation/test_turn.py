"""Whose turn it is: what can wait speaks over nobody, and no vital word is lost."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from assistant.audio.sound import BLOCK_S, RATE_HZ, Samples
from assistant.brief.states import State
from assistant.conversation.turn import AFTER_CALL_S, BETWEEN_S, LONGEST_S, Turn
from assistant.oximeter.messages import Calling
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

Begin = Callable[..., Any]
Phrase = Callable[[str], Samples]


@pytest.fixture(scope="module")
def phrases() -> TypedPhrases:
    return TypedPhrases(Phrasebook(SITE))


@pytest.fixture
def table(phrases: TypedPhrases) -> Iterator[TextCase]:
    """A new case that has said its opening."""
    case = TextCase(SITE, phrases=phrases)
    yield case
    case.close()


def wait_until(table: TextCase, at_s: float) -> None:
    """To that moment of the case, whoever speaks then."""
    table.waits(at_s - table.now_s)


@pytest.mark.parametrize("before_s", [0.1, 0.5, 0.9, 1.3])
def test_a_time_is_called_after_who_speaks_just_then(table: TextCase, before_s: float) -> None:
    """A question that was begun just before is answered, and the time called after it."""
    table.hears("begin the attempt")
    began_s = table.case.known.clocks["attempt"].started_s
    wait_until(table, began_s + 30.0 - before_s)
    table.hears("what is the saturation")
    table.waits(6.0)

    heard = next(row for row in table.rows if row.text == "what is the saturation")
    called = next(row for row in table.rows if row.kind == "said" and row.meaning == "time")
    assert heard.kind == "heard"
    assert called.mono_s > heard.data["ended_s"]


@pytest.mark.parametrize("after_s", [5.7, 6.2, 6.9])
def test_an_answer_is_not_lost_to_its_questions_repetition(table: TextCase, after_s: float) -> None:
    """Begun before it is asked again at 7 s, it counts."""
    table.hears("begin the brief")
    item = table.case.known.current
    wait_until(table, table.now_s + after_s)
    table.hears("yes confirmed")

    assert table.heard.kind == "heard"
    assert table.case.known.current != item


@pytest.mark.parametrize("lead_s", [0.9, 1.2])
def test_an_arrest_over_which_the_watcher_called_is_asked_back(
    begin: Begin, phrase: Phrase, lead_s: float
) -> None:
    """In two words after the call; with the real ear, which has heard enough of it."""
    live = begin()
    live.until_said("opened")
    live.wait(0.5)
    said = phrase("cardiac arrest")
    live.people_say(said)
    live.wait(lead_s * len(said) / RATE_HZ)
    live.conversation.give_way(live.at_s + 2.5)
    line = live.until_said("doubt")

    row = next(row for row in live.rows if row.text == "cardiac arrest")
    assert (row.kind, row.data["verdict"], row.data["why"]) == ("heard", "ask", "spoken over")
    assert line.text == "Cardiac arrest?"
    assert live.conversation.case.state is State.DOUBTING


def test_a_yes_over_which_the_watcher_called_settles_nothing(begin: Begin, phrase: Phrase) -> None:
    """On record as it was understood and ignored, and the question is asked again."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_said("ask")
    live.wait(0.8)
    said = phrase("yes confirmed")
    live.people_say(said)
    live.wait(len(said) / RATE_HZ)
    live.conversation.give_way(live.at_s + 2.5)
    live.until_said("ask")

    row = next(row for row in live.rows if row.kind == "ignored")
    assert (row.text, row.data["why"]) == ("yes confirmed", "spoken over")
    assert live.conversation.case.known.current == "mask"


def test_a_question_that_waits_is_not_asked_after_a_vital_word(table: TextCase) -> None:
    """A yes then would be taken for the wrong one of the two: only the ask-back is asked."""
    table.hears("begin the brief")
    table.waits(2.0)
    table.conversation.note("told", "The line hums.")  # it begins over who speaks
    before = len(table.lines)
    table.conversation.pressed("repeat")  # a question waits behind it
    table._ear.say("cardiac arrest", table.now_s - 2.0, sure=True)
    table.waits(3.0)

    assert [line.tag for line in table.lines[before:]] == ["note", "doubt"]
    assert table.case.state is State.DOUBTING


def test_talk_that_does_not_stop_is_not_waited_for() -> None:
    """A radio holds nothing back for longer; after a pause somebody else may be speaking."""
    turn = Turn()

    assert turn.is_free(0.0, somebody_speaks=False)
    assert not turn.is_free(1.0, somebody_speaks=True)
    assert not turn.is_free(0.9 + LONGEST_S, somebody_speaks=True)
    assert turn.is_free(1.0 + LONGEST_S, somebody_speaks=True)
    assert turn.is_free(7.0, somebody_speaks=False)
    assert not turn.is_free(8.0, somebody_speaks=True)


def test_a_call_into_a_radio_leaves_people_their_turn_all_the_same() -> None:
    """How long that has gone on makes the time after the call no shorter."""
    turn = Turn()
    for second in range(20):
        turn.is_free(float(second), somebody_speaks=True)
    turn.leave_it(22.5)

    assert not turn.is_free(20.0, somebody_speaks=True)
    assert turn.is_free(22.5, somebody_speaks=True)


def test_talk_after_talk_is_not_waited_for_either() -> None:
    """Each word gave the next one its time: a line that had paused was never said to its end."""
    turn = Turn()
    at_s, free_at_s = 0.0, None
    while free_at_s is None and at_s < 60.0:
        speaks = at_s % 2.0 < 1.0
        if not speaks:
            turn.leave_it(at_s + 1.5)
        if turn.is_free(at_s, somebody_speaks=speaks):
            free_at_s = at_s
        at_s += BLOCK_S
    assert free_at_s == pytest.approx(LONGEST_S, abs=2 * BLOCK_S)


def test_after_a_call_people_have_the_turn() -> None:
    """Until the time is over, and as long as somebody speaks then."""
    turn = Turn()
    turn.leave_it(12.0)

    assert not turn.is_free(11.9, somebody_speaks=False)
    assert not turn.is_free(12.0, somebody_speaks=True)
    assert turn.is_free(13.0, somebody_speaks=False)
    turn.leave_it(20.0)
    turn.take_it()
    assert turn.is_free(14.0, somebody_speaks=False)


def test_what_is_said_just_after_a_call_is_heard(table: TextCase) -> None:
    """A line that the call cut is not gone on with over it."""
    table.hears("begin the attempt")
    table.hears("attempt failed")
    table.conversation.pressed("repeat")  # something is being said as the call comes
    table.conversation.give_way(table.now_s + 2.1)
    wait = round(2.6 / BLOCK_S)
    for _ in range(wait):
        table._step()
    before = len(table.rows)
    table.hears("cardiac arrest")

    assert table.rows[before].kind == "heard"
    assert table.heard.text == "cardiac arrest"
    assert table.case.known.is_arrested


def test_after_a_call_nothing_is_asked_for_a_moment(table: TextCase) -> None:
    """What was open is asked again once people had time to act and to say so."""
    table.hears("begin the brief")
    item, until_s = table.case.known.current, table.now_s + 2.0
    table.conversation.give_way(until_s)
    table.waits(6.0)

    asked = [row for row in table.rows if row.kind == "said" and row.item == item]
    assert len(asked) == 2
    assert asked[1].mono_s >= until_s + AFTER_CALL_S


def test_a_plain_yes_just_after_a_call_answers_nothing(table: TextCase) -> None:
    """It may be about what was called; what tells of the item counts."""
    table.hears("begin the brief")
    item = table.case.known.current
    table.conversation.give_way(table.now_s + 1.0)
    for _ in range(round(1.5 / BLOCK_S)):
        table._step()
    table.hears("yes")
    assert table.heard.data["why"] == "a plain yes outside the answer window"
    assert table.case.known.current == item


def test_an_arrest_is_heard_between_two_sentences_of_a_plan(begin: Begin, phrase: Phrase) -> None:
    """With the real ear, which is deaf while it speaks: the plan is not said to its end."""
    live = begin()
    live.until_said("opened")
    live.conversation.pressed("help")
    live.until_speaking()
    while not live.conversation._mouth.takes_breath:
        live.step()
    live.wait(0.3)
    live.people_say(phrase("cardiac arrest"))
    live.until_said("arrest")

    assert live.texts("heard") == ["cardiac arrest"]
    assert "cut short" in live.texts("event")
    assert "help" not in [line.tag for line in live.ended]


def test_a_line_goes_on_where_nobody_gets_a_word_in(begin: Begin) -> None:
    """After a moment in which somebody would have been heard."""
    live = begin()
    live.until_said("opened")
    live.conversation.pressed("help")
    live.until_speaking()
    while not live.conversation._mouth.takes_breath:
        live.step()
    silent_from_s = live.at_s
    while live.conversation._mouth.takes_breath:
        live.step()
    assert BETWEEN_S < live.at_s - silent_from_s < BETWEEN_S + 0.5
    assert live.until_said("help")
    assert live.texts("said")[-1].startswith("Say")


def test_a_call_that_it_makes_for_the_watcher_waits_for_no_turn(table: TextCase) -> None:
    """People have the turn after a call, but the next call is made at once."""
    conversation = table.conversation
    conversation.call_for_watcher(_calling(table, 93))
    while not [row for row in table.rows if row.meaning == "call"]:
        table.waits(0.1)
    table.waits(2.0)
    called_s = table.now_s
    conversation.call_for_watcher(_calling(table, 89))
    table.waits(0.5)

    first, second = (row for row in table.rows if row.meaning == "call")
    assert first.mono_s + first.data["lasts_s"] < called_s
    assert second.mono_s - called_s < 0.2


def _calling(table: TextCase, level_percent: int) -> Calling:
    text = f"Saturation {level_percent}."
    return Calling("fell", text, level_percent, level_percent, table.now_s, table.now_s)
