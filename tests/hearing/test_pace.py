"""How long a phrase may take."""

import pytest

from assistant.hearing.engines.pace import can_last, syllables


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

    assert can_last("no", 0.3)
    assert not can_last("no", 3.0)
    assert can_last(question, 2.7)
    assert not can_last(question, 0.5)
