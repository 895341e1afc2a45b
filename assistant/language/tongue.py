"""A language as data: how its numbers are said and heard, and the terms of spoken sentences.

A site names its language in its wording and may change any of the terms. A further language is a
module of number words like `korean.py`, its name in `Language` and `_NUMBERS`, and terms in the
site's file.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import Final, Literal, Protocol

from assistant.grammar.grammar import Filler
from assistant.language import korean, numbers
from assistant.language.terms import Terms

Language = Literal["en", "ko"]


class Numbers(Protocol):
    """How a language says whole numbers and decimals, and every way in which it may say one."""

    def say_number(self, number: int | Decimal) -> str:
        """In words, for the ear."""

    def say_digits(self, number: int | Decimal) -> str:
        """Digit by digit, for reading back."""

    def say_twice(self, number: int | Decimal) -> str:
        """In words, and in digits too where it is easily misheard."""

    def number_fillers(self, low: int, high: int) -> tuple[Filler, ...]:
        """One for every wording of every whole number of the range, within 0 to 450."""

    def decimal_fillers(self) -> tuple[Filler, ...]:
        """One for every wording of every tenth below a hundred that is not whole."""

    def height_fillers(self, low_inches: int, high_inches: int) -> tuple[Filler, ...]:
        """One for each wording of a height in feet and inches; the value is in inches."""

    def metre_fillers(self, low_cm: int, high_cm: int) -> tuple[Filler, ...]:
        """One for each wording of a height in metres; the value is in centimetres."""

    def parse_number(self, words: str) -> int | None:
        """The number that the words stand for, or None if they are none of its wordings."""

    def first_words(self) -> frozenset[str]:
        """The words with which their wordings begin."""

    def confusable_with(self, number: int | Decimal) -> int | Decimal | None:
        """The number that is easily heard instead of this one, or None."""

    def said_in_digits(self, number: int | Decimal, words: str) -> bool:
        """Whether a phrase holds the number digit by digit."""


_NUMBERS: Final[Mapping[Language, Numbers]] = MappingProxyType({"en": numbers, "ko": korean})


def exactly(heard: float) -> int | Decimal:
    """A number that was heard, whole or with one place, as it was said: 7.5 and not 7.4999."""
    return int(heard) if heard == int(heard) else Decimal(str(round(heard, 1)))


def number_words(language: Language) -> Numbers:
    """The number words of a language."""
    return _NUMBERS[language]


@dataclass(frozen=True)
class Tongue:
    """The language of a site, with the site's own terms."""

    language: Language = "en"
    terms: Terms = field(default_factory=Terms)

    @property
    def phonetic_voice(self) -> str:
        """espeak-ng's voice for the language."""
        return {"en": "en-us"}.get(self.language, self.language)

    @property
    def numbers(self) -> Numbers:
        """Its number words."""
        return number_words(self.language)

    def missing(self, height: object, sex: object, joined: str) -> str:
        """Which of height and sex is not known; `joined` is the term for both of them."""
        terms = self.terms.dose
        if height is None and sex is None:
            return joined.format(one=terms.the_height, other=terms.the_sex)
        return terms.the_height if height is None else terms.the_sex

    def say_quantity(self, amount: int | Decimal, unit: str) -> str:
        """A number with its unit, a name of `Units`: "one milligram", "two litres"."""
        named = self.terms.units.named(unit)
        return self.terms.quantity.format(
            number=self.numbers.say_number(amount), unit=named.one if amount == 1 else named.many
        )


ENGLISH: Final = Tongue()
