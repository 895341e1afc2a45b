"""Numbers in a sentence, whether written in words or in digits."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from assistant.language.tongue import Language, Numbers, number_words

_LONGEST_WORDS = 6
"""Of a number up to 450: "four hundred and forty seven" has five."""
_WORD = re.compile(r"[^\W_]+(?:'[^\W_]+)?|[.!?;:]")


@dataclass(frozen=True, slots=True)
class NumberInText:
    """A number and what follows it."""

    number: int
    then: tuple[str, ...]
    """The words after it."""


def words_of(text: str) -> list[str]:
    """In lower case, without hyphens and commas; the ends of sentences are words of their own."""
    return _WORD.findall(text.lower())


def numbers_in(text: str, numbers: Numbers) -> Iterator[NumberInText]:
    """Each number from 0 to 450, from left to right, as long as it goes."""
    words = words_of(text)
    for number, _, end in _found(words, numbers):
        if number is not None:
            yield NumberInText(number, tuple(words[end:]))


@lru_cache(maxsize=32768)  # some 20,000 texts of a site, each of which stands in many states
def with_one_number(text: str, language: Language) -> str:
    """The same words with a 0 for every number, and for every row of them."""
    kept: list[str] = []
    numbers = number_words(language)
    words = words_of(text)
    for number, start, _ in _found(words, numbers):
        if number is None:
            kept.append(words[start])
        elif kept[-1:] != ["0"]:
            kept.append("0")
    return " ".join(kept)


def _found(words: list[str], numbers: Numbers) -> Iterator[tuple[int | None, int, int]]:
    firsts = numbers.first_words()
    at = 0
    while at < len(words):
        begins = words[at] in firsts or words[at].isdecimal()
        longest = _LONGEST_WORDS if begins else 0  # most words begin no number
        for end in range(min(len(words), at + longest), at, -1):
            number = _number(" ".join(words[at:end]), numbers)
            if number is not None:
                yield number, at, end
                break
        else:
            end = at + 1
            yield None, at, end
        at = end


def _number(words: str, numbers: Numbers) -> int | None:
    return int(words) if words.isdecimal() and len(words) <= 3 else numbers.parse_number(words)
