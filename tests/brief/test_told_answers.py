"""What people tell of a vital item in passing is read back in their own words, and then counts."""

from collections.abc import Iterator

import pytest

from assistant.brief.item import Standing
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

PHRASES = TypedPhrases(Phrasebook(SITE))
WAVE = "sustained-carbon-dioxide"


@pytest.fixture
def case() -> Iterator[TextCase]:
    """A planned brief at its first item."""
    one = TextCase(SITE, phrases=PHRASES, word_s=0)
    one.hears("planned brief")
    yield one
    one.close()


def last(case: TextCase) -> str:
    """What was said last."""
    return case.said[-1]


def test_no_allergies_is_not_read_back_as_allergies(case: TextCase) -> None:
    """Whoever hears "Allergies, yes?" after a "none" would say no, and be asked again for ever."""
    for words in ("we saw the mask held on", "fifteen litres", "bag ready", "seventy kilos", "yes"):
        case.hears(words)
    case.hears("none")
    assert case.case.known.current == "allergies"

    case.hears("none known")
    assert last(case) == "None known, yes?"
    case.hears("yes")

    assert case.case.known.items["allergies"].standing is Standing.DONE


def test_a_yes_alone_is_read_back_with_the_item(case: TextCase) -> None:
    """It tells nothing by itself."""
    case.hears("yes")

    assert last(case) == "Oxygen on, yes?"


@pytest.mark.parametrize("words", ["good wave", "yes good wave"])
def test_a_wave_told_in_passing_is_read_back_and_then_counts(case: TextCase, words: str) -> None:
    """Nobody says "we saw the wave go on" over a patient; a yes alone is no wave all the same."""
    case.hears("tube in")
    assert case.case.known.current == WAVE

    case.hears("yes")
    assert last(case).startswith("Please say: ")
    case.hears(words)
    assert last(case) == "Good wave, yes?"
    assert case.case.known.items[WAVE].standing is Standing.OPEN
    case.hears("yes")

    assert case.case.known.items[WAVE].standing is Standing.RUNNING


def test_no_wave_is_heard_where_no_wait_would_be_taken_for_it(case: TextCase) -> None:
    """The two differ by one sound: while the wave is asked for, nothing is taken back so."""
    case.hears("tube in")

    case.hears("no wait")
    assert case.case.known.current == WAVE
    heard = case.heard
    assert heard is not None
    assert heard.data["verdict"] == "ignore"
    case.hears("no wave", sure=False)
    assert last(case) == "No wave, correct?"
    case.hears("yes")

    assert any(line.startswith("No wave: take it out") for line in case.said)
