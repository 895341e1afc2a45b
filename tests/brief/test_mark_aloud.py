"""A mark that is said aloud: on record as the facilitator's, and nothing else comes of it."""

import pytest

from assistant.brief.states import State
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.phrasebook.sense import makes_sense
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.brief.test_vital_words import WAYS
from tests.tarn_hollow import SITE

PHRASES = TypedPhrases(Phrasebook(SITE))
(WORDS, *_) = SITE.wording.may_be_said.mark


def marks(case: TextCase) -> list[tuple[str, str]]:
    return [(row.who, row.text) for row in case.rows if row.data.get("event") == "mark"]


@pytest.mark.parametrize("state", [one for one in WAYS if one is not State.ATTEMPTING])
def test_heard_wherever_a_case_is_and_settles_nothing(opened, state: State) -> None:
    """One word is said to it, none while held; what was awaited is still awaited after it."""
    case = opened(*WAYS[state])
    assert case.case.state is state
    known, prompt = case.case.known.current, case.case.state
    for sure in (True, False):
        said = case.hears(WORDS, sure=sure)
        assert [line.tag for line in said] == ([] if state is State.HELD else ["marked"])
    assert marks(case) == [("facilitator", WORDS)] * 2
    assert (case.case.known.current, case.case.state) == (known, prompt)


def test_what_was_asked_is_answered_after_it_and_asked_again_when_nobody_does() -> None:
    """A plain yes after the mark answers the question before it."""
    case = TextCase(SITE, phrases=PHRASES, word_s=0)
    case.hears("begin")
    first = case.case.known.current
    case.hears(WORDS)
    (again,) = case.waits(SITE.wording.timing.ask_again_after_s + 0.5)
    assert (again.tag, again.item) == ("ask", first)
    case.hears(WORDS)
    case.hears("not yet")
    assert case.case.known.current != first
    case.close()


def test_no_attempt_is_disturbed_by_it() -> None:
    """What is said then is for the helpers."""
    case = TextCase(SITE, phrases=PHRASES, word_s=0)
    case.hears("begin the attempt")
    assert not makes_sense(case.case, "mark")
    case.close()
