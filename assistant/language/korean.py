"""Spoken numbers in Korean: the Sino-Korean numerals, with which weights and measures are counted.

The words and their order are the published ones (Unicode CLDR, rule-based number formats, `ko`,
"sinonumber"), but for the one before a hundred or a thousand, which people leave out. Here each
power of ten is a word with its own digit, as speech models know them: "이백 칠십 오".

Read back digit by digit, a number is said with the digits of Korean radiotelephony, meant not to be
misheard, as 일 and 이 (one and two) are: 공 하나 둘 삼 넷 오 여섯 칠 팔 아홉. From memory.
"""

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from typing import Final

from assistant.grammar.grammar import Filler
from assistant.language.decimals import split_decimal

HIGHEST_HEARD: Final = 450
TENTHS_BELOW: Final = 100

_DIGITS: Final = ("영", "일", "이", "삼", "사", "오", "육", "칠", "팔", "구")
_RADIO: Final = ("공", "하나", "둘", "삼", "넷", "오", "여섯", "칠", "팔", "아홉")
_COUNTED: Final = ("공", "하나", "둘", "셋", "넷", "다섯", "여섯", "일곱", "여덟", "아홉")
_POWERS: Final = ((10_000, "만"), (1000, "천"), (100, "백"), (10, "십"))
POINT: Final = "점"


def say_number(number: int | Decimal) -> str:
    """The number in words, for the ear: "백 십", "팔 점 사".

    A decimal keeps its leading zero and loses its trailing ones. Raises ValueError below zero and
    from a million on.
    """
    whole, fraction = split_decimal(number)
    said = _whole(whole)
    return f"{said} {POINT} {_spelt(fraction, _DIGITS)}" if fraction else said


def say_digits(number: int | Decimal) -> str:
    """The number digit by digit, for reading back: "하나 하나 공", "삼 칠 점 둘".

    Raises ValueError below zero.
    """
    whole, fraction = split_decimal(number)
    said = _spelt(str(whole), _RADIO)
    return f"{said} {POINT} {_spelt(fraction, _RADIO)}" if fraction else said


def say_twice(number: int | Decimal) -> str:
    """A number that is easily misheard in words and digits; here none is known to be."""
    return say_number(number)


def number_fillers(low: int, high: int) -> tuple[Filler, ...]:
    """One filler for every wording of every whole number from `low` to `high`, both included.

    The respelling has the hundreds apart ("이 백"): speech models may lack them as one word.
    Raises ValueError unless 0 <= low <= high <= 450.
    """
    if not 0 <= low <= high <= HIGHEST_HEARD:
        raise ValueError(f"a range within 0 to {HIGHEST_HEARD}, not {low} to {high}")
    return tuple(
        Filler(words, float(number), _apart(words))
        for number in range(low, high + 1)
        for words in wordings(number)
    )


@cache
def decimal_fillers() -> tuple[Filler, ...]:
    """One filler for every tenth below a hundred that is not whole: "칠 점 오", "영 점 오"."""
    return tuple(
        Filler(f"{_whole(whole)} {POINT} {_DIGITS[tenths]}", whole + tenths / 10)
        for whole in range(TENTHS_BELOW)
        for tenths in range(1, 10)
    )


def wordings(number: int) -> tuple[str, ...]:
    """Every usual way to say a whole number from 0 to 450, the plainest first.

    "백 십", "일 일 영", "일 일 공", "하나 하나 공".
    """
    return tuple(dict.fromkeys(_wordings(number)))


def parse_number(words: str) -> int | None:
    """The number from 0 to 450 that the words stand for, or None."""
    return _numbers_by_wording().get(" ".join(words.split()))


@cache
def first_words() -> frozenset[str]:
    """The words with which the wordings of all numbers begin."""
    return frozenset(words.split()[0] for words in _numbers_by_wording())


def confusable_with(number: int | Decimal) -> int | Decimal | None:  # noqa: ARG001
    """None: no such pair is known in Korean, and every number is read back in digits anyway."""
    return None


def said_in_digits(number: int | Decimal, words: str) -> bool:
    """Whether a phrase holds the number digit by digit; never below ten."""
    spelt = _digit_wordings(int(number))
    return number >= 10 and any(f" {one} " in f" {words} " for one in spelt)


def height_fillers(low_inches: int, high_inches: int) -> tuple[Filler, ...]:  # noqa: ARG001
    """None: heights are told in centimetres."""
    return ()


def metre_fillers(low_cm: int, high_cm: int) -> tuple[Filler, ...]:  # noqa: ARG001
    """None: heights are told in centimetres."""
    return ()


def _wordings(number: int) -> Iterator[str]:
    yield _whole(number)
    yield from _digit_wordings(number)


def _digit_wordings(number: int) -> tuple[str, ...]:
    digits = str(number)
    zero_as_gong = ("공", *_DIGITS[1:])
    sets = (_DIGITS, zero_as_gong, _RADIO, _COUNTED)
    return tuple(dict.fromkeys(_spelt(digits, words) for words in sets))


def _apart(words: str) -> tuple[str, ...]:
    apart = re.sub(r"(\w)백", r"\1 백", words)
    return (apart,) if apart != words else ()


def _spelt(digits: str, words: tuple[str, ...]) -> str:
    return " ".join(words[int(digit)] for digit in digits)


def _whole(number: int) -> str:
    if not number:
        return _DIGITS[0]
    parts = []
    for power, name in _POWERS:
        count, number = divmod(number, power)
        if count > 1:
            counted = _whole(count) if count >= 10 else _DIGITS[count]
            parts.append(f"{counted} {name}" if power >= 1000 else f"{counted}{name}")
        elif count:
            parts.append(name)
    return " ".join((*parts, *([_DIGITS[number]] if number else [])))


@cache
def _numbers_by_wording() -> dict[str, int]:
    return {words: number for number in range(HIGHEST_HEARD + 1) for words in wordings(number)}
