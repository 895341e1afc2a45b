"""What of the things that were heard counts: each rule by itself, without sound."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from assistant.conversation.admission import Admission
from assistant.conversation.gate import Gate
from assistant.conversation.last_prompt import OUTSIDE, LastPrompt
from assistant.grammar.readings import NOT_FOR_ME, Heard, Reading, Verdict
from assistant.hearing.ear import SPOKEN_OVER
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from assistant.speaking.mouth import Line, Urgency
from tests.tarn_hollow import SITE

ASKED_S, WINDOW_S = 10.0, 4.0
"""When the question has been said to its end, and how long a plain yes answers it."""
ACCEPT, ASK, IGNORE = Verdict.ACCEPT, Verdict.ASK, Verdict.IGNORE
QUESTION = Line("Two suctions working?", "ask", "suction", Urgency.ASK)


class Asking:
    """The suction is asked after, and what is heard then is weighed."""

    def __init__(self, talk: TextCase, *, may_interrupt: bool = False) -> None:
        self.case = talk.case
        self.prompt = LastPrompt(WINDOW_S)
        self.admission = Admission(self.case, Gate(0.5, may_interrupt=may_interrupt), self.prompt)
        self.prompt.queued(QUESTION)
        self.prompt.began(QUESTION, ASKED_S - 2.0, 2.0)

    def asked(self) -> "Asking":
        self.prompt.ended(QUESTION, ASKED_S)
        return self

    def learn(self, level_dbfs: float) -> None:
        for _ in range(3):
            self.admission.learn(heard("confirm", "both working", level_dbfs=level_dbfs))

    def hears(self, one: Heard, *, amid: bool = False, speaking: bool = False) -> Verdict:
        return self.admission.admit(one, speaking=speaking, amid=amid).heard.reading.verdict


def heard(
    meaning: str | None,
    text: str = "yes",
    verdict: Verdict = ACCEPT,
    *,
    why: str = "",
    at_s: float = ASKED_S + 1.0,
    level_dbfs: float | None = -20.0,
) -> Heard:
    reading = Reading(text, meaning, verdict=verdict, why=why)
    return Heard(at_s, at_s + 1.0, reading, level_dbfs=level_dbfs, noise_dbfs=-60.0)


@pytest.fixture(scope="module")
def talk() -> Iterator[TextCase]:
    """A case in which the suction is asked after; only to be looked at."""
    one = TextCase(SITE, phrases=TypedPhrases(Phrasebook(SITE)), word_s=0)
    one.hears("immediate brief")
    while one.case.known.current != "suction":
        one.hears("skip that")
    yield one
    one.close()


@pytest.fixture
def asking(talk: TextCase) -> Asking:
    return Asking(talk)


def test_an_arrest_that_was_spoken_over_is_asked_back_and_nothing_else(asking: Asking) -> None:
    """Not where its beginning is missing ("no cardiac arrest"), and no answer at all."""
    arrest = heard("arrest", "cardiac arrest", ASK, why=SPOKEN_OVER)
    assert asking.asked().hears(arrest) is ASK
    assert asking.hears(replace(arrest, cut_start=True)) is IGNORE
    assert asking.hears(heard("confirm", "both working", ASK, why=SPOKEN_OVER)) is IGNORE
    assert asking.hears(heard("plain_yes", why=SPOKEN_OVER)) is IGNORE


def test_what_is_not_listened_for_now_counts_for_nothing(asking: Asking) -> None:
    """Whatever an engine makes of it."""
    assert asking.asked().hears(heard("choose", "the bougie")) is IGNORE
    assert asking.hears(heard("plain_yes")) is ACCEPT


def test_a_yes_from_farther_away_is_read_back(asking: Asking) -> None:
    """So is one in a loud room; those who answered before are near."""
    asking.asked().learn(-20.0)
    assert asking.hears(heard("plain_yes", level_dbfs=-22.0)) is ACCEPT
    assert asking.hears(heard("plain_yes", level_dbfs=-30.0)) is ASK
    assert asking.hears(replace(heard("plain_yes"), noise_dbfs=-25.0)) is ASK
    assert asking.hears(heard("confirm", "both working", level_dbfs=-30.0)) is ACCEPT


def test_long_after_the_question_only_its_own_words_count_and_are_read_back(
    asking: Asking,
) -> None:
    """A yes is nothing then; nor is what comes from farther away, or was not surely heard."""
    asking.asked().learn(-20.0)
    late = heard("plain_yes", "both working", at_s=ASKED_S + WINDOW_S + 1.0)
    admitted = asking.admission.admit(late, speaking=False, amid=False)
    assert (admitted.heard.reading.verdict, admitted.heard.reading.why) == (ASK, OUTSIDE)
    assert asking.hears(heard("plain_yes", at_s=late.started_s)) is IGNORE
    assert asking.hears(replace(late, level_dbfs=-30.0)) is IGNORE
    assert asking.hears(replace(late, reading=replace(late.reading, verdict=ASK))) is IGNORE


def test_of_an_answer_whose_beginning_is_missing_more_is_asked(asking: Asking) -> None:
    """It may have had a "not" before it; a vital word is asked back anyway, and talk is talk."""
    answer = replace(heard("confirm", "both working"), cut_start=True)
    arrest = replace(heard("arrest", "cardiac arrest"), cut_start=True)
    admit = asking.asked().admission.admit
    assert admit(answer, speaking=False, amid=False).too_early
    assert not admit(replace(answer, cut_start=False), speaking=False, amid=False).too_early
    assert admit(answer, speaking=False, amid=True).too_early
    assert admit(arrest, speaking=False, amid=False).too_early
    assert not admit(arrest, speaking=False, amid=True).too_early
    assert not admit(
        replace(answer, reading=Reading("the bougie", "choose", verdict=ACCEPT)),
        speaking=False,
        amid=False,
    ).too_early


@pytest.mark.parametrize(
    ("change", "early"),
    [
        ({}, True),
        ({"cut_start": False}, False),
        ({"cut_start": False, "early_start": True}, True),
        ({"level_dbfs": -30.0}, False),
        ({"ended_s": ASKED_S + 3.0}, False),
        ({"started_s": ASKED_S + 1.0}, False),
    ],
)
def test_a_sound_over_the_end_of_the_question_is_asked_for_again(
    asking: Asking, change: dict[str, object], early: bool
) -> None:
    """If it was short, from somebody near, and its beginning is missing."""
    asking.asked().learn(-20.0)
    end = replace(heard(None, "", IGNORE, at_s=ASKED_S), cut_start=True)
    assert (
        asking.admission.admit(replace(end, **change), speaking=False, amid=False).too_early
        is early
    )


def test_a_question_that_was_given_up_waits_for_any_yes(asking: Asking) -> None:
    """However late; it is read back."""
    asking.asked().prompt.ended(Line("I wait.", "waiting"), ASKED_S + 30.0)
    assert asking.hears(heard("plain_yes", at_s=ASKED_S + 300.0)) is ASK


def test_talk_that_was_understood_as_that_is_on_record_as_that(asking: Asking) -> None:
    """It is not told to be something that was not listened for."""
    talk = heard(None, "what's for lunch", IGNORE, why=NOT_FOR_ME)
    admitted = asking.asked().admission.admit(talk, speaking=False, amid=False)
    assert admitted.heard.reading.why == NOT_FOR_ME


def test_what_may_have_been_the_answer_is_asked_for_again(asking: Asking) -> None:
    """In words that nobody knows, from somebody near, in the time for it; no talk of the room."""
    asking.asked().learn(-20.0)
    unknown = heard(None, "that is so", IGNORE)

    def is_unclear(one: Heard, *, amid: bool = False) -> bool:
        return asking.admission.admit(one, speaking=False, amid=amid).unclear

    assert is_unclear(unknown)
    assert not is_unclear(unknown, amid=True)
    assert not is_unclear(replace(unknown, level_dbfs=-30.0))
    assert not is_unclear(heard(None, "", IGNORE))
    assert not is_unclear(heard(None, "that is so", IGNORE, why=NOT_FOR_ME))
    assert not is_unclear(heard(None, "that is so", IGNORE, at_s=ASKED_S + WINDOW_S + 1.0))
    assert not is_unclear(heard("confirm", "both working"))


def test_in_a_pause_for_breath_nobody_answers_what_was_hardly_begun(asking: Asking) -> None:
    """Somebody who speaks there is heard, and may stop it; an answer is about something else."""
    early_s = ASKED_S - 1.9
    assert asking.hears(heard("confirm", "both working", at_s=early_s), amid=True) is IGNORE
    assert asking.hears(heard("stop", "stop", at_s=early_s), amid=True) is ACCEPT


def test_nor_where_people_may_interrupt(talk: TextCase) -> None:
    """What is not heard surely over the assistant's own voice counts for nothing either."""
    asking = Asking(talk, may_interrupt=True)
    early_s = ASKED_S - 1.9
    assert asking.hears(heard("confirm", "both working", at_s=early_s), speaking=True) is IGNORE
    assert asking.hears(heard("stop", "stop", at_s=early_s), speaking=True) is ACCEPT
    assert asking.hears(heard("stop", "stop", ASK, at_s=early_s), speaking=True) is IGNORE
