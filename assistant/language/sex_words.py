"""The words by which a phrase speaks of a woman or of a man, for checking what a site writes."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from assistant.language.numbers_in_text import words_of
from assistant.language.tongue import Language

_WORDS: Final[Mapping[Language, Mapping[str, frozenset[str]]]] = MappingProxyType(
    {
        "en": {
            "female": frozenset(("woman", "female", "lady", "girl", "she", "she's", "her")),
            "male": frozenset(("man", "male", "gentleman", "boy", "he", "he's", "him", "his")),
        },
        "ko": {"female": frozenset(("여자", "여성")), "male": frozenset(("남자", "남성"))},
    }
)
OTHER: Final = MappingProxyType({"female": "male", "male": "female"})


def speaks_of_other(words: str, sex: str, language: Language) -> bool:
    """Whether it names the other sex, and not this one."""
    said, known = set(words_of(words)), _WORDS[language]
    return bool(said & known[OTHER[sex]]) and not said & known[sex]
