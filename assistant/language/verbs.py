"""English verbs and their forms, as lemminflect tells them.

Its two tables take a quarter of a second to load, four times that on a small board, and a program
asks for a hundred words: what it told is kept in the user's cache, for its very version.
"""

import re
from functools import cache
from importlib.metadata import version
from pathlib import Path

from assistant.files.cache import cached, keep_more, kept

AUXILIARY = re.compile(r"\b(is|are|has|have|was|were|does|must)\b")


def holds_auxiliary(words: str) -> bool:
    """Whether an "is" or its like is in it, whose "isn't" sounds nearly the same."""
    return AUXILIARY.search(words) is not None


def verbs_of(word: str) -> tuple[str, ...]:
    """The verbs that the word may be a form of: "take" for "took"; empty for what is no verb."""
    return _told("VERB", word)


def forms_of(verb: str, tense: str) -> tuple[str, ...]:
    """That form of a verb, by its name in the Penn Treebank ("VBD": "took"), the usual first."""
    return _told(tense, verb)


def _told(asked: str, word: str) -> tuple[str, ...]:
    known = _known()
    key = f"{asked} {word}"
    if key not in known:
        known[key] = _asked(asked, word)
        keep_more(_kept_in(), known)
    return tuple(known[key])


def _asked(asked: str, word: str) -> list[str]:
    from lemminflect import getInflection, getLemma

    if asked == "VERB":
        return list(getLemma(word, asked, lemmatize_oov=False))
    return list(getInflection(word, asked))


@cache
def _known() -> dict[str, list[str]]:
    return kept(_kept_in())


def _kept_in() -> Path:
    return cached("verbs", _file())


@cache
def _file() -> str:
    return f"lemminflect-{version('lemminflect')}.json"
