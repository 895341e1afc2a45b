"""Which words stand for a unit, and for another one in its place."""

import pytest

from assistant.language.terms import Terms, Units, UnitWords
from assistant.language.tongue import Language, Tongue
from assistant.language.unit_words import another_unit, misnamed_as, units_named


def tongue(language: Language, **units: str) -> Tongue:
    """A language in which these units have one word each."""
    named = {unit: UnitWords(one=word, many=word) for unit, word in units.items()}
    return Tongue(language, Terms(units=Units(**named)))


@pytest.mark.parametrize(
    ("language", "unit", "words", "other"),
    [
        ("en", "kilogram", "pounds", "pound"),
        ("en", "kilogram", "Pounds", "pound"),
        ("en", "litre", "metric litres", None),
        ("en", "millilitre", "cubic centimetres", None),
        ("en", "year", "months", "month"),
        ("ko", "kilogram", "파운드", "pound"),
        ("ko", "kilogram", "pounds", "pound"),
        ("ko", "milligram", "mg", None),
        ("ko", "milligram", "밀리그람", None),
    ],
)
def test_a_unit_has_no_word_of_another(
    language: Language, unit: str, words: str, other: str | None
) -> None:
    """Neither in English nor in the site's language; its own may be spelt as it likes."""
    assert misnamed_as(unit, words, tongue(language)) == other


def test_no_word_stands_for_two_units() -> None:
    """Also one that no list has."""
    assert (
        misnamed_as("litre", "리타", tongue("ko", litre="리타", millilitre="리타")) == "millilitre"
    )
    assert misnamed_as("litre", "리타", tongue("ko", litre="리타")) is None


@pytest.mark.parametrize(
    ("text", "unit", "other"),
    [
        ("What does the patient weigh, in pounds?", "kilograms", "pound"),
        ("In kilograms, not pounds?", "kilograms", None),
        ("How much?", "kilograms", None),
        ("How much since the second dose?", "minutes", None),
        ("Running at fifteen litres a minute?", "litres", None),
        ("Running at five hundred millilitres an hour?", "litres an hour", "millilitre"),
        ("How deep, in inches?", "millimetres", "inch"),
        ("How deep, in kilograms?", "percent", None),
    ],
)
def test_a_unit_in_the_place_of_another(text: str, unit: str, other: str | None) -> None:
    """Only one that measures the same, and where the right one is not named too."""
    english = tongue("en")
    assert another_unit(text, units_named(unit, english), english) == other
