"""A dose that was cut, by a call and by words: it is said to its end once, while it holds."""

from collections.abc import Callable, Iterator

import pytest

from assistant.audio.sound import BLOCK_S
from assistant.conversation.cut_dose import CutDose
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

WEIGHED = ("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")


@pytest.fixture(scope="module")
def phrases() -> TypedPhrases:
    return TypedPhrases(Phrasebook(SITE))


@pytest.fixture
def table(phrases: TypedPhrases) -> Iterator[TextCase]:
    """The weight is known; words take their time."""
    table = TextCase(SITE, phrases=phrases)
    for words in WEIGHED:
        table.hears(words)
    yield table
    table.close()


def _said(table: TextCase) -> list[str]:
    return [row.meaning or "" for row in table.rows if row.kind == "said"]


def _steps_until(table: TextCase, so: Callable[[], bool]) -> None:
    until_s = table.now_s + 60
    while not so():
        assert table.now_s < until_s
        table._step()


def _tells_the_dose(table: TextCase) -> None:
    """Somebody has asked for it, and it has just begun."""
    table._ear.say("how much ketamine", table.now_s, sure=True)
    _steps_until(table, lambda: _said(table)[-1] == "dose")


def _passes(table: TextCase, seconds: float) -> None:
    for _ in range(round(seconds / BLOCK_S)):
        table._step()


def _takes_a_breath(table: TextCase) -> None:
    _tells_the_dose(table)
    _steps_until(table, lambda: table.conversation._mouth.takes_breath)
    _passes(table, 0.35)


def _calls_into_it(table: TextCase) -> None:
    _tells_the_dose(table)
    _passes(table, 1.6)
    table.conversation.give_way(table.now_s + 2.0)
    _passes(table, 2.5)


def _whole_doses(table: TextCase) -> int:
    return sum(line.tag == "dose" for line in table.lines)


def _cut(table: TextCase) -> int:
    return sum(row.text == "cut short" for row in table.rows)


@pytest.mark.parametrize(
    "words",
    [
        ("mark this moment",),
        ("what is left",),
        ("hang on", "go on"),
        ("the patient is a woman", "no"),
    ],
)
def test_a_dose_that_was_cut_in_its_breath_is_said_to_its_end(table, words) -> None:
    """Once, and the item that is asked after it."""
    _takes_a_breath(table)
    for one in words:
        table.hears(one)
    assert _cut(table) == 1
    assert _whole_doses(table) == 1
    assert table.lines[-1].tag == "ask"


def test_it_waits_for_what_is_to_be_said_again(table) -> None:
    """And comes when nobody says it."""
    _takes_a_breath(table)
    assert [line.tag for line in table.hears("hang on", sure=False)] == ["again"]
    table.waits(table.site.wording.timing.ask_again_after_s + 1)
    assert _whole_doses(table) == 1
    assert table.lines[-1].tag == "ask"


def test_a_dose_that_a_call_and_then_words_have_cut_is_on_record_as_cut(table) -> None:
    """It was to be said after the call, and is said after the hold."""
    _calls_into_it(table)
    table.hears("hang on")
    assert _cut(table) == 1
    assert _whole_doses(table) == 0
    table.hears("go on")
    assert _whole_doses(table) == 1


def test_a_dose_that_went_on_after_a_call_is_not_on_record_as_cut(table) -> None:
    _calls_into_it(table)
    table.waits(20)
    assert _whole_doses(table) == 1
    table.hears("hang on")
    assert _cut(table) == 0
    table.hears("go on")
    assert _whole_doses(table) == 1


@pytest.mark.parametrize(
    "words",
    [
        ("no wait",),
        ("the weight is nine zero kilos", "yes"),
        ("ketamine in",),
        ("begin the attempt", "the attempt failed"),
        ("cardiac arrest", "go on"),
        ("stop", "go on"),
    ],
)
def test_a_dose_that_does_not_hold_any_more_is_not_said(table, words) -> None:
    """Nor one that nobody has an ear for."""
    _takes_a_breath(table)
    for one in words:
        table.hears(one)
    assert _cut(table) >= 1
    assert _whole_doses(table) == 0


@pytest.mark.parametrize("words", ["say again", "how much ketamine", "dose of propofol"])
def test_a_dose_that_is_asked_for_then_takes_its_place(table, words) -> None:
    _takes_a_breath(table)
    table.hears(words)
    assert _whole_doses(table) == 1


def test_a_dose_that_is_cut_each_time_comes_back_once(table) -> None:
    _takes_a_breath(table)
    table._ear.say("mark this moment", table.now_s, sure=True)
    _steps_until(table, lambda: _said(table).count("dose") == 2)
    _steps_until(table, lambda: table.conversation._mouth.takes_breath)
    _passes(table, 0.35)
    table.hears("mark this moment")
    table.waits(30)
    assert _cut(table) == 2
    assert _said(table).count("dose") == 2


def test_no_other_line_comes_back(table) -> None:
    cut = CutDose()
    cut.by_words(table.lines[-1], table.case.known)
    assert table.lines[-1].tag == "ask"
    assert cut.to_say(table.case) is None


@pytest.mark.parametrize("words", [("mark this moment",), ("hang on", "go on")])
def test_of_two_doses_the_one_that_was_cut_comes_before_the_next(phrases, words) -> None:
    """Two were asked for before the weight; neither is lost."""
    table = TextCase(SITE, phrases=phrases)
    for one in ("begin", "how much ketamine", "how much etomidate", "eighty kilos"):
        table.hears(one)
    table._ear.say("yes", table.now_s, sure=True)
    _steps_until(table, lambda: _said(table)[-1] == "dose")
    _steps_until(table, lambda: table.conversation._mouth.takes_breath)
    _passes(table, 0.35)
    for one in words:
        table.hears(one)
    assert [line.tag for line in table.lines[-2:]] == ["dose", "quote"]
    assert table.lines[-2].text.startswith("Ketamine")
    assert table.hears("yes")[0].text.startswith("Etomidate for induction")
    table.close()
