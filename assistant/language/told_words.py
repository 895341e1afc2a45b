"""The words that a text tells people to say, for checking what a site writes.

A language may lack a marker: then nothing is found.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Final

from assistant.language.numbers_in_text import words_of
from assistant.language.tongue import Language

_MARKED: Final[Mapping[Language, re.Pattern[str]]] = MappingProxyType(
    {"en": re.compile(r"\b(?:say|then|or): ([^.;?!]+)", re.IGNORECASE)}
)
_TELLS: Final[Mapping[Language, re.Pattern[str]]] = MappingProxyType(
    {"en": re.compile(r"\bsay\b", re.IGNORECASE)}
)
_LISTED: Final[Mapping[Language, re.Pattern[str]]] = MappingProxyType(
    {"en": re.compile(r"^say:? ([^.?!]+)", re.IGNORECASE)}
)
_APART: Final = re.compile(r"[;,]|\bor\b")
_CHOICE: Final = re.compile(r"\bor\b")
"""With one of these, commas stand between phrases; without, within one: "no, wait"."""


def told_to_say(text: str, language: Language) -> Iterator[str]:
    """Each phrase of "Say: we saw the drugs go in. Then: begin, or go for it.", without what is
    filled in."""
    marked = _MARKED.get(language)
    if marked is not None and _TELLS[language].search(text):
        for told in marked.findall(text):
            yield from _plain(_APART.split(told) if _CHOICE.search(told) else [told])


def listed_to_say(text: str, language: Language) -> Iterator[str]:
    """Each phrase of "Say yes, or not yet; why; say again."."""
    listed = _LISTED.get(language)
    found = None if listed is None else listed.match(text)
    if found is not None:
        yield from _plain(_APART.split(found[1]))


def _plain(phrases: Iterable[str]) -> Iterator[str]:
    for phrase in phrases:
        words = " ".join(words_of(phrase))
        if words and "{" not in phrase:
            yield words
