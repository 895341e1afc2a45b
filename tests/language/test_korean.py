"""Korean numbers, said and heard, against the published rules of the Unicode CLDR."""

from collections import defaultdict
from decimal import Decimal

import pytest

from assistant.language import korean
from assistant.language.tongue import Tongue

ALL = range(korean.HIGHEST_HEARD + 1)

# Unicode CLDR, common/rbnf/ko.xml, ruleset "sinonumber" (read): the digits, ten and hundred with
# their count before them, thousand and ten thousand as words of their own, 점 for the point.
CLDR_DIGITS = dict(enumerate("영일이삼사오육칠팔구"))


def by_cldr(number: int) -> str:
    """A number by those rules, as one string without spaces."""
    for power, name in ((10_000, "만"), (1000, "천"), (100, "백"), (10, "십")):
        if number >= power:
            count, rest = divmod(number, power)
            # The one that the rules would put before a hundred is left out, as people leave it
            # out (common practice, no source); other CLDR data for Korean leave it out too.
            counted = by_cldr(count) if count > 1 else ""
            return f"{counted}{name}{by_cldr(rest) if rest else ''}"
    return CLDR_DIGITS[number]


def test_numbers_are_said_as_published() -> None:
    """The words of the published rules; where they are parted is a matter of writing."""
    numbers = (*ALL, 999, 1000, 1120, 9999, 10_000, 12_345, 999_999)
    said = {number: korean.say_number(number).replace(" ", "") for number in numbers}

    assert said == {number: by_cldr(number) for number in numbers}


def test_some_by_hand() -> None:
    """Written by hand, not by rule."""
    assert korean.say_number(75) == "칠십 오"
    assert korean.say_number(110) == "백 십"
    assert korean.say_number(230) == "이백 삼십"
    assert korean.say_number(Decimal("8.40")) == "팔 점 사"
    assert korean.say_number(Decimal(".5")) == "영 점 오"


def test_digits_are_read_back_with_those_of_the_radio() -> None:
    """One and two, 일 and 이, are never read back: 하나 and 둘 are (from memory)."""
    assert korean.say_digits(110) == "하나 하나 공"
    assert korean.say_digits(62) == "여섯 둘"
    assert not {"일", "이"} & set(" ".join(map(korean.say_digits, ALL)).split())


@pytest.mark.parametrize("number", [-1, 1_000_000])
def test_what_has_no_words_is_refused(number: int) -> None:
    """Rather than something wrong."""
    with pytest.raises(ValueError, match="from 0 up to a million"):
        korean.say_number(number)


def test_every_wording_is_parsed_exactly() -> None:
    """Also what is said to it, and no wording stands for two numbers."""
    meant = defaultdict(set)
    for number in ALL:
        for words in korean.wordings(number):
            meant[words].add(number)
            assert korean.parse_number(words) == number
        assert korean.parse_number(korean.say_digits(number)) == number
    assert all(len(numbers) == 1 for numbers in meant.values())


def test_usual_wordings_are_heard() -> None:
    """In words, and in each way of spelling digits."""
    assert set(korean.wordings(110)) == {"백 십", "일 일 영", "일 일 공", "하나 하나 공"}
    assert {"칠십 오", "칠 오", "일곱 다섯"} <= set(korean.wordings(75))
    fillers = korean.number_fillers(30, 200)
    assert {one.value for one in fillers} == {float(number) for number in range(30, 201)}


def test_digits_are_told_from_words() -> None:
    """As for English."""
    assert korean.said_in_digits(75, "체중 칠 오 킬로")
    assert not korean.said_in_digits(75, "체중 칠십 오 킬로")
    assert not korean.said_in_digits(7, "칠")


def test_quantities_have_no_plural() -> None:
    """The site's terms decide it."""
    units = {"minute": {"one": "분", "many": "분"}}
    tongue = Tongue("ko", Tongue().terms.model_validate({"units": units}))

    assert tongue.say_quantity(1, "minute") == "일 분"
    assert tongue.say_quantity(3, "minute") == "삼 분"
    assert Tongue().say_quantity(1, "minute") == "one minute"
    assert Tongue().say_quantity(3, "minute") == "three minutes"


def test_tenths_are_said_and_heard() -> None:
    """Sino-Korean, with 점 for the point."""
    values = {one.words: one.value for one in korean.decimal_fillers()}

    assert (values["칠 점 오"], values["영 점 오"], values["삼십 칠 점 이"]) == (7.5, 0.5, 37.2)
    assert korean.say_digits(Decimal("37.2")) == "삼 칠 점 둘"
