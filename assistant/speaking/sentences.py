"""Sentences: a phrase filled in, and where a long line pauses for somebody to get a word in."""

import re
from typing import Final

LEAST_WORDS: Final = 8
"""So many words are said in one go at least: about three seconds."""
LEAST_AFTER: Final = 4
"""What is shorter than this belongs to the sentence before it, as "Agreed?" does to a plan."""
_ENDS = re.compile(r"(?<=[.?!])\s+")


def filled(phrase: str, **values: str) -> str:
    """A phrase with its placeholders filled in, as a sentence."""
    return as_sentence(phrase.format(**values))


def as_sentence(text: str) -> str:
    """The text with a capital at its beginning."""
    return text[:1].upper() + text[1:]


def in_breaths(text: str) -> list[str]:
    """The text in the parts that are said in one go: one whole sentence each, or several."""
    breaths: list[str] = []
    for sentence in _ENDS.split(text):
        words = len(sentence.split())
        if breaths and (words < LEAST_AFTER or len(breaths[-1].split()) < LEAST_WORDS):
            breaths[-1] = f"{breaths[-1]} {sentence}"
        else:
            breaths.append(sentence)
    return breaths
