"""Speaking while the assistant does, where its echo is cancelled."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from assistant.audio.sound import Samples
from assistant.brief.item import Standing
from assistant.conversation.last_prompt import UNDERSTOOD_S, LastPrompt
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.oximeter.messages import Calling
from assistant.speaking.mouth import Line, Urgency

Begin = Callable[..., Any]
Phrase = Callable[[str], Samples]
CANCELLED_DB = -70.0


@pytest.fixture
def asking(begin: Begin, phrase: Phrase) -> Any:
    """A case whose first question has just begun to be spoken."""
    live = begin(echo_db=CANCELLED_DB, may_interrupt=True)
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_speaking()
    return live


def events(live: Any) -> list[str]:
    return [row.text for row in live.rows if row.who == "assistant" and row.kind == "event"]


def test_stop_stops_it_in_mid_word(asking: Any, phrase: Phrase) -> None:
    """The question breaks off, that is on record, and nothing of it comes any more."""
    asking.wait(0.4)
    asking.people_say(phrase("stop talking"))
    said = asking.until_said("stopped")
    asking.wait(3.0)

    assert said.text == "Stopped."
    assert "cut short" in events(asking)
    assert asking.conversation.case.known.items["mask"].standing is Standing.OPEN
    assert not [line for line in asking.ended if line.tag == "ask"]


def test_a_question_may_be_answered_before_its_end(asking: Any, phrase: Phrase) -> None:
    """Somebody who knows what is coming says so; the next item is asked."""
    asking.wait(UNDERSTOOD_S + 0.5)
    asking.people_say(phrase("not yet"))
    asking.until_said("deferred")

    assert asking.texts("heard")[-1] == "not yet"
    assert not [line for line in asking.ended if line.tag == "ask"]
    assert asking.until_said("ask").item == "suction"


def test_its_own_voice_cancelled_is_nobody(asking: Any) -> None:
    """The question holds its answer, and is spoken to its end."""
    asking.until_said("ask")
    asking.wait(1.0)

    assert asking.texts("heard") == ["begin the brief"]
    assert asking.conversation.case.known.current == "mask"


def test_without_a_canceller_it_is_deaf_while_it_speaks(begin: Begin, phrase: Phrase) -> None:
    """As before: what is said over it is not taken."""
    live = begin(echo_db=CANCELLED_DB)
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_speaking()
    live.people_say(phrase("stop talking"))
    live.until_said("ask")

    assert live.texts("heard") == ["begin the brief"]


def test_a_device_that_was_gone_is_not_trusted_again(asking: Any, phrase: Phrase) -> None:
    """What comes back may be another one, which hears the assistant."""
    asking.conversation.sound_is(hears=False, speaks=True)
    asking.conversation.sound_is(hears=True, speaks=True)
    asking.until_speaking()
    asking.people_say(phrase("stop talking"))
    asking.until_said("ask")

    assert "stop talking" not in asking.texts("heard")


def heard(meaning: str, started_s: float) -> Heard:
    return Heard(started_s, started_s + 1, Reading(meaning, meaning, verdict=Verdict.ACCEPT))


@pytest.mark.parametrize(
    ("tag", "meaning", "before_its_end", "after_it"),
    [
        ("ask", "confirm", True, True),
        ("ask", "number", True, True),
        ("read-back", "confirm", False, True),
        ("read-back", "decline", True, True),
        ("say-how", "confirm", False, True),
        ("quote", "confirm", False, True),
        ("mix", "confirm", False, True),
        ("closing", "confirm", False, True),
        ("closing", "stop", True, True),
    ],
)
def test_what_was_read_back_is_confirmed_only_when_it_was_heard_to_its_end(
    tag: str, meaning: str, before_its_end: bool, after_it: bool
) -> None:
    """A weight or a drug above all; a refusal counts at once."""
    prompt, line = LastPrompt(7.0), Line("One one zero, kilograms. Correct?", tag)
    prompt.queued(line)
    prompt.began(line, 10.0, 0.0)
    early = prompt.is_answered_by(heard(meaning, 12.0))
    prompt.ended(line, 13.0)

    assert early is before_its_end
    assert prompt.is_answered_by(heard(meaning, 13.5)) is after_it
    assert prompt.is_answered_by(heard(meaning, 12.0)) is before_its_end


@pytest.mark.parametrize(
    "meaning",
    [
        *("confirm", "plain_yes", "bare_yes", "decline", "number", "choose", "name"),
        *("allergen", "not_applicable", "denied", "go_ahead"),
    ],
)
def test_nothing_answers_a_question_that_was_not_asked_yet(meaning: str) -> None:
    """While "noted" is being said the next question waits: a yes is a yes to the one before."""
    prompt, line = LastPrompt(7.0), Line("Is the suction working?", "ask", urgency=Urgency.ASK)
    prompt.queued(line)
    assert not prompt.is_answered_by(heard(meaning, 9.0))
    prompt.began(line, 10.0, 0.0)

    assert not prompt.is_answered_by(heard(meaning, 9.5))
    assert not prompt.is_answered_by(heard(meaning, 10.0 + UNDERSTOOD_S / 2))
    assert prompt.is_answered_by(heard(meaning, 11.0))


def test_what_takes_back_the_answer_before_needs_no_question() -> None:
    """Begun with the next call, where people may interrupt, it is about what came before that."""
    line = Line("Is the suction working?", "ask", urgency=Urgency.ASK)
    prompt = LastPrompt(7.0, takes_back=("but not yet",))
    prompt.queued(line)
    prompt.began(line, 10.0, 0.0)
    early = Reading("but not yet", "decline", verdict=Verdict.ACCEPT)

    assert prompt.is_answered_by(Heard(10.1, 10.8, early))
    assert not prompt.is_answered_by(heard("decline", 10.1))


def test_nothing_answers_what_was_never_spoken_until_it_has_been() -> None:
    """Whoever may interrupt or not; what is no answer, such as "say that again", counts."""
    prompt, line = LastPrompt(7.0), Line("Is the suction working?", "ask", urgency=Urgency.ASK)
    prompt.queued(line)
    prompt.failed(line)
    how = {"may_interrupt": False, "speaking": False}

    assert prompt.objection(heard("confirm", 9.0), **how) == "the question was never spoken"
    assert prompt.objection(heard("repeat", 9.0), **how) == ""
    prompt.began(line, 10.0, 0.0)
    assert prompt.objection(heard("confirm", 13.0), **how) == ""


@pytest.mark.parametrize(("tag", "counts"), [("again", True), ("marked", False)])
def test_a_mark_is_no_question(tag: str, counts: bool) -> None:
    """After "Sorry, please say that again." the window opens anew; after "Marked." it does not."""
    prompt = LastPrompt(answer_window_s=7.0)
    asked, since = Line("Suction?", "ask"), Line("…", tag)
    prompt.began(asked, 0.0, 1.0)
    prompt.ended(asked, 1.0)
    prompt.began(since, 40.0, 1.0)
    prompt.ended(since, 41.0)
    yes = Heard(42.0, 42.5, Reading("yes", "plain_yes", verdict=Verdict.ACCEPT))

    assert (prompt.objection(yes, may_interrupt=False, speaking=False) == "") is counts


def test_what_is_not_heard_surely_does_not_interrupt() -> None:
    """While it speaks a doubtful "stop" is room talk; in silence it is asked back."""
    prompt = LastPrompt(7.0)
    doubtful = Heard(1.0, 2.0, Reading("stop", "stop", verdict=Verdict.ASK, why="not clear"))

    assert prompt.objection(doubtful, may_interrupt=True, speaking=True).startswith("while it")
    assert prompt.objection(doubtful, may_interrupt=True, speaking=False) == ""


def test_what_is_about_safety_is_said_all_the_same(begin: Begin, phrase: Phrase) -> None:
    """A call of the watcher is not cut short by a "stop"."""
    live = begin(echo_db=CANCELLED_DB, may_interrupt=True)
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    now_s = live.at_s
    call = Calling("fell", "Saturation ninety three.", 93, 93, now_s, now_s)
    live.conversation.call_for_watcher(call)
    live.wait(0.3)
    live.people_say(phrase("stop talking"))

    assert live.until_said("call").text == "Saturation ninety three."
    assert np.abs(np.concatenate(live.sound)).max() > 1000


PLAN = "Between two attempts we bag until the oxygen is back. Then the neck is next. Agreed?"


@pytest.mark.parametrize(("tag", "meaning"), [("ask", "confirm"), ("pause", "go_ahead")])
def test_nobody_agrees_to_what_was_not_said_to_its_end(tag: str, meaning: str) -> None:
    """A yes to a colleague, between two sentences of a plan; a no may come at any time."""
    prompt = LastPrompt(7.0)
    line = Line(PLAN, tag, "plan")
    prompt.queued(line)
    prompt.began(line, 10.0, 9.0)

    def said(what: str, at_s: float) -> str:
        heard = Heard(at_s, at_s + 1.0, Reading(what, what, verdict=Verdict.ACCEPT))
        return prompt.objection(heard, may_interrupt=True, speaking=False)

    assert said(meaning, 14.0) == "before the question had been heard"
    assert said("decline", 14.0) == ""
    prompt.ended(line, 19.0)
    assert said(meaning, 19.5) == ""
