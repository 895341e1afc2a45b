"""Spoken numbers, said and heard: exhaustively from 0 to 450."""

from collections import defaultdict
from decimal import Decimal

import pytest

from assistant.language.numbers import (
    CONFUSABLE,
    HIGHEST_HEARD,
    confusable_with,
    decimal_fillers,
    height_fillers,
    number_fillers,
    parse_number,
    said_in_digits,
    say_digits,
    say_number,
    say_twice,
    wordings,
)

ALL = range(HIGHEST_HEARD + 1)

# The figures of English as any grammar spells them out; written by hand, not by the code.
IN_WORDS = {
    0: "zero",
    7: "seven",
    12: "twelve",
    13: "thirteen",
    20: "twenty",
    40: "forty",
    75: "seventy-five",
    90: "ninety",
    100: "one hundred",
    101: "one hundred and one",
    110: "one hundred and ten",
    121: "one hundred and twenty-one",
    300: "three hundred",
    1008: "one thousand and eight",
    1120: "one thousand one hundred and twenty",
    21_000: "twenty-one thousand",
}


def test_whole_numbers_are_said_in_words() -> None:
    """A whole number is said in full British words."""
    assert {number: say_number(number) for number in IN_WORDS} == IN_WORDS
    assert {number: say_number(Decimal(number)) for number in IN_WORDS} == IN_WORDS


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("8.4", "eight point four"),
        ("0.5", "zero point five"),
        (".5", "zero point five"),
        ("8.40", "eight point four"),
        ("4.0", "four"),
        ("3.05", "three point zero five"),
        ("75.60", "seventy-five point six"),
        ("1E+2", "one hundred"),
        ("5E-1", "zero point five"),
        ("10", "ten"),
    ],
)
def test_decimals_keep_the_leading_zero_and_lose_the_trailing_ones(number: str, words: str) -> None:
    """Always a leading zero, never a trailing one (rule for written doses, NCC MERP)."""
    assert say_number(Decimal(number)) == words


@pytest.mark.parametrize("number", [-1, 1_000_000, Decimal("-0.1")])
def test_what_has_no_words_is_refused(number: int | Decimal) -> None:
    """Below zero and from a million on nothing is said, rather than something wrong."""
    with pytest.raises(ValueError, match="from 0 up to a million"):
        say_number(number)


def test_digits_are_read_back_one_by_one() -> None:
    """Read-back says every digit by itself, as radiotelephony does (ICAO Annex 10 Vol II)."""
    assert say_digits(110) == "one one zero"
    assert say_digits(75) == "seven five"
    assert say_digits(0) == "zero"
    with pytest.raises(ValueError, match="from 0"):
        say_digits(-5)


def test_the_usual_wordings_are_all_there() -> None:
    """Common practice, no source: the ways in which English speakers say these weights."""
    assert set(wordings(75)) == {"seventy five", "seven five"}
    assert set(wordings(110)) == {
        "one hundred and ten",
        "one hundred ten",
        "a hundred and ten",
        "a hundred ten",
        "one ten",
        "one one zero",
        "one one oh",
    }
    assert {"one oh five", "one zero five", "a hundred and five"} <= set(wordings(105))
    assert set(wordings(100)) == {"one hundred", "a hundred", "one zero zero", "one oh oh"}
    assert set(wordings(230)) >= {"two thirty", "two hundred and thirty", "two three zero"}
    assert wordings(0) == ("zero",)


def test_no_wording_stands_for_two_numbers() -> None:
    """Over 0 to 450, words and respellings of different numbers never coincide."""
    meant = defaultdict(set)
    for filler in number_fillers(0, HIGHEST_HEARD):
        for text in (filler.words, *filler.respellings):
            meant[text.replace("-", " ")].add(filler.value)
    assert {text: values for text, values in meant.items() if len(values) > 1} == {}


def test_every_wording_is_parsed_exactly() -> None:
    """What may be said for a number comes back as that number, and so does what is said to it."""
    wrong = [
        (number, words, parse_number(words))
        for number in ALL
        for words in (*wordings(number), say_number(number), say_digits(number))
        if parse_number(words) != number
    ]

    assert wrong == []


@pytest.mark.parametrize(
    "words",
    ["", "oh", "point", "seventy twenty", "one hundred and", "four hundred and fifty one", "75"],
)
def test_other_words_are_no_number(words: str) -> None:
    """Half a number, one beyond the range, or none at all is never guessed at."""
    assert parse_number(words) is None


def test_case_hyphens_and_spaces_do_not_matter() -> None:
    """Written English parses like spoken English."""
    assert parse_number("One  hundred and Seventy-Five ") == 175


def test_fillers_cover_the_range_and_nothing_else() -> None:
    """Every number of the range has each of its wordings once, with the number as a float."""
    fillers = number_fillers(30, 200)
    assert {filler.value for filler in fillers} == {float(number) for number in range(30, 201)}
    assert all(isinstance(filler.value, float) for filler in fillers)
    words = [filler.words for filler in fillers]
    assert len(words) == len(set(words))
    assert set(words) == {one for number in range(30, 201) for one in wordings(number)}


def test_words_suit_a_grammar() -> None:
    """A filler's words are lower case letters and single spaces, so they fit any pattern."""
    for filler in number_fillers(0, HIGHEST_HEARD):
        assert all(word.isalpha() and word.islower() for word in filler.words.split(" "))


def test_numerals_and_hyphens_are_respellings() -> None:
    """A speech model may write "75", "seventy-five" or "o"; numerals stand once per number.

    Not for 115 or 80: "115" would not tell whether it was said digit by digit.
    """
    by_words = {filler.words: filler for filler in number_fillers(75, 175)}
    assert by_words["seventy five"].respellings == ("75", "seventy-five")
    assert by_words["seven five"].respellings == ("seven-five",)
    assert by_words["one oh five"].respellings == ("one o five",)
    assert by_words["one one five"].respellings == ()
    assert by_words["one hundred and ten"].respellings == ("110",)
    assert by_words["one hundred and fifteen"].respellings == ()
    assert by_words["a hundred and seventy five"].respellings == ("a hundred and seventy-five",)
    numerals = [text for one in by_words.values() for text in one.respellings if text.isdigit()]
    told_apart = [number for number in range(75, 176) if confusable_with(number) is None]
    assert sorted(numerals, key=int) == [str(number) for number in told_apart]


@pytest.mark.parametrize(("low", "high"), [(-1, 10), (10, 9), (0, 451)])
def test_a_range_that_cannot_be_heard_is_refused(low: int, high: int) -> None:
    """A range outside 0 to 450, or upside down, is a programming error."""
    with pytest.raises(ValueError, match="a range within"):
        number_fillers(low, high)


def test_teens_and_tens_are_partners() -> None:
    """13/30 to 19/90 are the pairs of the reported mishearings (ISMP 2001, PA-PSRS 2006)."""
    pairs = {(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)}
    assert {(low, high) for low, high in CONFUSABLE.items() if low < high} == pairs
    assert all(CONFUSABLE[partner] == number for number, partner in CONFUSABLE.items())
    assert confusable_with(15) == 50
    assert confusable_with(70) == 17
    assert confusable_with(115) == 150
    assert confusable_with(190) == 119
    for number in (0, 10, 11, 12, 20, 75, 100, 110, 120):
        assert confusable_with(number) is None


@pytest.mark.parametrize(
    ("number", "words", "spelt"),
    [
        (17, "one seven kilos", True),
        (110, "the weight is one one oh kilos", True),
        (70, "seven zero", True),
        (70, "seventy kilos", False),
        (117, "one seventeen", False),
        (7, "seven", False),
    ],
)
def test_digits_are_told_from_words(number: int, words: str, spelt: bool) -> None:
    """Only a number of two digits or more can be said digit by digit."""
    assert said_in_digits(number, words) == spelt


def test_heights_in_feet_and_inches() -> None:
    """Five foot eight is 68 inches in each wording, and no wording stands for two heights."""
    fillers = height_fillers(48, 90)
    by_words = {filler.words: filler.value for filler in fillers}
    assert len(by_words) == len(fillers)
    for words in ("five foot eight", "five foot eight inches", "five feet eight inches"):
        assert by_words[words] == 68.0
    assert by_words["six feet"] == 72.0
    assert by_words["five foot one inch"] == 61.0


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (Decimal(12), "twelve"),
        (Decimal(84), "eighty-four"),
        (Decimal(15), "fifteen, one five,"),
        (Decimal("50.2"), "fifty point two, five zero point two,"),
        (Decimal(115), "one hundred and fifteen, one one five,"),
        (Decimal(295), "two hundred and ninety-five"),
        (Decimal(2064), "two thousand and sixty-four, two zero six four,"),
        (Decimal(3000), "three thousand, three zero zero zero,"),
    ],
)
def test_what_is_easily_misheard_is_said_twice(number: Decimal, said: str) -> None:
    """A teen, a ten, and whatever has a thousand in it; in words, then digit by digit."""
    assert say_twice(number) == said


def test_tenths_are_said_and_heard() -> None:
    """ "Seven point five", "point five", "seven and a half"; each wording is one number only."""
    values = {one.words: one.value for one in decimal_fillers()}

    assert values["seven point five"] == values["seven and a half"] == 7.5
    assert values["thirty seven point two"] == 37.2
    assert values["point five"] == values["zero point five"] == 0.5
    assert len(values) == len(decimal_fillers())
    assert not any(value == int(value) for value in values.values())


def test_a_decimal_is_read_back_digit_by_digit_and_misheard_as_a_whole_one_is() -> None:
    """With its point; fifteen point five may be fifty point five."""
    assert say_digits(Decimal("37.2")) == "three seven point two"
    assert confusable_with(Decimal("15.5")) == Decimal("50.5")
    assert said_in_digits(Decimal("15.5"), "one five point five")
    assert not said_in_digits(Decimal("15.5"), "fifteen point five")
