"""How long a phrase may take."""

import math

import pytest

from assistant.hearing.engines.closed.pace import pace, strain, syllables


@pytest.mark.parametrize(
    ("words", "count"),
    [("no", 1), ("confirmed", 2), ("not yet", 2), ("seventy five kilos", 6), ("ketamine", 3)],
)
def test_syllables_are_counted_as_they_are_spoken(words: str, count: int) -> None:
    """Counts by ear (common practice, no source)."""
    assert syllables(words) == count


def test_a_short_word_does_not_last_seconds() -> None:
    """Three seconds of voice are no "no", and half a second is no dose question."""
    question = "what is the dose of ketamine for seventy five kilos"

    assert strain("no", 0.3) < math.inf
    assert strain("no", 3.0) == math.inf
    assert strain(question, 2.7) < math.inf
    assert strain(question, 0.5) == math.inf


def test_what_took_as_long_as_usual_is_at_no_disadvantage() -> None:
    """Four to six syllables a second are ordinary speech (common practice, no source)."""
    question = "what is the dose of ketamine for seventy five kilos"  # 13 syllables

    assert strain(question, 13 / 5) == 0.0
    assert strain(question, 13 / 3) > strain(question, 13 / 3.5) > 0.0
    assert pace(question, 13 / 3) > 0 > pace(question, 13 / 7)
