"""Numbers in a sentence, in words and in digits."""

import pytest

from assistant.language.numbers_in_text import numbers_in, with_one_number
from assistant.language.tongue import number_words


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("Act on the call at ninety-three?", [93]),
        ("Cuff, twenty to thirty?", [20, 30]),
        ("One hundred and five, or 105.", [105, 105]),
        ("Seven zero kilos", [70]),
        ("Bag and valve", []),
    ],
)
def test_each_number_is_found_as_long_as_it_goes(text: str, numbers: list[int]) -> None:
    """From left to right; "and" alone is no number."""
    assert [one.number for one in numbers_in(text, number_words("en"))] == numbers


def test_what_follows_a_number_is_told() -> None:
    """So that its unit can be looked at."""
    (found,) = numbers_in("Three minutes are up.", number_words("en"))
    assert found.then[:2] == ("minutes", "are")


def test_any_number_makes_the_same_phrase() -> None:
    """In words or digits, as one number or a row of them."""
    said = ("for seventy kilos", "for 82 kilos", "for one one five kilos", "for nine five kilos")
    assert {with_one_number(one, "en") for one in said} == {"for 0 kilos"}
