"""Spoken numbers: how the assistant says one, and every way in which a person may say one.

The wordings are those of British and American English. No number that is asked for lies above
450 (a heavy adult in pounds), and below that no wording stands for two numbers.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from types import MappingProxyType
from typing import Final

from assistant.grammar.grammar import Filler
from assistant.language.decimals import split_decimal

HIGHEST_HEARD: Final = 450
"""Weights, heights, pressures and saturations all lie between 0 and this."""
TENTHS_BELOW: Final = 100
"""Temperatures, tubes, lactates and the like lie below: what is told in tenths."""

# fmt: off
_BELOW_TWENTY: Final = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
    "eighteen", "nineteen",
)
# fmt: on
_TENS: Final = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

CONFUSABLE: Final[Mapping[int, int]] = MappingProxyType(
    {**{10 + n: 10 * n for n in range(3, 10)}, **{10 * n: 10 + n for n in range(3, 10)}}
)
"""Teens and tens that are misheard for one another: 15 taken for 50 is a reported drug error
(ISMP Medication Safety Alert, 24 January 2001; PA-PSRS Patient Safety Advisory, June 2006)."""


def say_number(number: int | Decimal) -> str:
    """The number in words, for the ear: "one hundred and ten", "eight point four".

    A decimal keeps its leading zero and loses its trailing ones ("zero point five"), as drug
    safety bodies ask of written doses (National Coordinating Council for Medication Error
    Reporting and Prevention). Raises ValueError below zero and from a million on.
    """
    whole, fraction = split_decimal(number)
    said = _whole(whole)
    return f"{said} point {_spelt(fraction)}" if fraction else said


def say_digits(number: int | Decimal) -> str:
    """The number digit by digit, for reading back: "one one zero", "three seven point two".

    Raises ValueError below zero.
    """
    whole, fraction = split_decimal(number)
    return f"{_spelt(str(whole))} point {_spelt(fraction)}" if fraction else _spelt(str(whole))


def say_twice(number: int | Decimal) -> str:
    """A number that is easily misheard in words and digit by digit: "fifteen, one five,".

    So are all from a thousand: "two thousand and twenty" comes near "two hundred and twenty"
    (docs/dosing.md). Any other number in words alone. To say it two ways is the advice of the
    bodies that report such errors (ISMP Medication Safety Alert, 24 January 2001; read
    second-hand).
    """
    said = say_number(number)
    if number < 1000 and confusable_with(int(number)) is None:
        return said
    whole, fraction = split_decimal(number)
    return f"{said}, {_spelt(str(whole))}{f' point {_spelt(fraction)}' if fraction else ''},"


def wordings(number: int) -> tuple[str, ...]:
    """Every usual way to say a whole number from 0 to 450, the plainest first.

    Lower case without hyphens: "seventy five", "one hundred and ten", "one ten", "one one oh".
    """
    if not 0 <= number <= HIGHEST_HEARD:
        raise ValueError(f"only numbers from 0 to {HIGHEST_HEARD} are heard, not {number}")
    return tuple(dict.fromkeys(word.replace("-", " ") for word in _wordings(number)))


def number_fillers(low: int, high: int) -> tuple[Filler, ...]:
    """One filler for every wording of every whole number from `low` to `high`, both included.

    The value is the number as a float. The respellings are what a small English speech model was
    seen to write: hyphens ("seventy-five", "seven-five"), "o" for "oh", and seldom numerals,
    which stand with the first wording only, as they are the same for all. A teen or a ten has no
    numerals: they would not tell whether it was said digit by digit.
    Raises ValueError unless 0 <= low <= high <= 450.
    """
    if not 0 <= low <= high <= HIGHEST_HEARD:
        raise ValueError(f"a range within 0 to {HIGHEST_HEARD}, not {low} to {high}")
    return tuple(filler for number in range(low, high + 1) for filler in _fillers(number))


@cache
def decimal_fillers() -> tuple[Filler, ...]:
    """One filler for every wording of every tenth below a hundred that is not whole.

    "Seven point five", "seven and a half", "point five"; the value is a float with one place.
    """
    return tuple(
        Filler(words, whole + tenths / 10)
        for whole in range(TENTHS_BELOW)
        for tenths in range(1, 10)
        for words in _decimal_wordings(whole, tenths)
    )


def parse_number(words: str) -> int | None:
    """The number from 0 to 450 that the words stand for, or None if they are none of its wordings.

    Case, hyphens and doubled spaces do not matter.
    """
    return _numbers_by_wording().get(" ".join(words.lower().replace("-", " ").split()))


@cache
def first_words() -> frozenset[str]:
    """The words with which the wordings of all numbers begin."""
    return frozenset(words.split()[0] for words in _numbers_by_wording())


def confusable_with(number: int | Decimal) -> int | Decimal | None:
    """The number that is easily heard instead of this one: 13 for 30, 150 for 115, or None."""
    rest = int(number) % 100
    partner = CONFUSABLE.get(rest)
    return None if partner is None else number - rest + partner


def said_in_digits(number: int | Decimal, words: str) -> bool:
    """Whether a phrase holds the number digit by digit: "one seven kilos"; never below ten."""
    digits = str(int(number))
    spelt = {_spelt(digits), _spelt(digits, zero="oh")}
    return number >= 10 and any(f" {one} " in f" {words} " for one in spelt)


def height_fillers(low_inches: int, high_inches: int) -> tuple[Filler, ...]:
    """One filler for each usual wording of a height in feet and inches; the value is in inches.

    "five foot eight", "five feet eight inches", "six feet", "five foot zero".
    """
    return tuple(
        Filler(words, float(inches))
        for inches in range(low_inches, high_inches + 1)
        for words in _heights(inches)
    )


def metre_fillers(low_cm: int, high_cm: int) -> tuple[Filler, ...]:
    """One filler for each usual wording of a height in metres; the value is in centimetres.

    "one metre seventy", "one metre oh five", "two metres", "two metres ten".
    """
    return tuple(
        Filler(words, float(centimetres), (words.replace("metre", "meter"),))
        for centimetres in range(low_cm, high_cm + 1)
        for words in _metres(centimetres)
    )


def _metres(centimetres: int) -> Iterator[str]:
    metres, rest = divmod(centimetres, 100)
    whole = f"{_BELOW_TWENTY[metres]} {'metre' if metres == 1 else 'metres'}"
    if not rest:
        yield whole
    elif rest < 10:
        yield from (f"{whole} {zero} {_BELOW_TWENTY[rest]}" for zero in ("oh", "zero"))
    else:
        yield f"{whole} {_below_hundred(rest)}".replace("-", " ")


def _heights(inches: int) -> Iterator[str]:
    feet, rest = divmod(inches, 12)
    foot, more = _BELOW_TWENTY[feet], _BELOW_TWENTY[rest]
    if not rest:
        yield from (f"{foot} foot", f"{foot} feet")
    else:
        unit = "inch" if rest == 1 else "inches"
        yield from (
            f"{foot} foot {more}",
            f"{foot} foot {more} {unit}",
            f"{foot} feet {more} {unit}",
        )


def _spelt(digits: str, zero: str = "zero") -> str:
    return " ".join(zero if digit == "0" else _BELOW_TWENTY[int(digit)] for digit in digits)


def _below_hundred(number: int) -> str:
    if number < 20:
        return _BELOW_TWENTY[number]
    tens, ones = divmod(number, 10)
    return _TENS[tens - 2] + (f"-{_BELOW_TWENTY[ones]}" if ones else "")


def _whole(number: int) -> str:
    thousands, below_thousand = divmod(number, 1000)
    hundreds, rest = divmod(below_thousand, 100)
    parts = []
    if thousands:
        parts.append(f"{_whole(thousands)} thousand")
    if hundreds:
        parts.append(f"{_BELOW_TWENTY[hundreds]} hundred")
    if rest or not parts:
        parts.append(f"and {_below_hundred(rest)}" if parts else _below_hundred(rest))
    return " ".join(parts)


def _wordings(number: int) -> Iterator[str]:
    """As `wordings`, with hyphens and perhaps one of them twice."""
    hundreds, rest = divmod(number, 100)
    if not hundreds:
        yield _below_hundred(rest)
    else:
        digit = _BELOW_TWENTY[hundreds]
        heads = [f"{digit} hundred", *(["a hundred"] if hundreds == 1 else [])]
        for head in heads:
            if not rest:
                yield head
            else:
                yield f"{head} and {_below_hundred(rest)}"
                yield f"{head} {_below_hundred(rest)}"
        if rest >= 10:
            yield f"{digit} {_below_hundred(rest)}"
    if number >= 10:
        # A lone "oh" is an exclamation, so zero itself is only ever "zero".
        yield _spelt(str(number))
        yield _spelt(str(number), zero="oh")


def _decimal_wordings(whole: int, tenths: int) -> Iterator[str]:
    for said in wordings(whole):
        yield f"{said} point {_BELOW_TWENTY[tenths]}"
    if not whole:
        yield f"point {_BELOW_TWENTY[tenths]}"
    elif tenths == 5:
        yield f"{wordings(whole)[0]} and a half"


def _fillers(number: int) -> Iterator[Filler]:
    hyphened = {words.replace("-", " "): words for words in _wordings(number)}
    for words, written in hyphened.items():
        respellings = [written, words.replace(" oh", " o")]
        if words == _spelt(str(number)) and 10 <= number < 100:
            respellings.append(words.replace(" ", "-"))
        if words == next(iter(hyphened)) and confusable_with(number) is None:
            respellings.insert(0, str(number))
        yield Filler(words, float(number), tuple(one for one in respellings if one != words))


@cache
def _numbers_by_wording() -> Mapping[str, int]:
    return {words: number for number in range(HIGHEST_HEARD + 1) for words in wordings(number)}
