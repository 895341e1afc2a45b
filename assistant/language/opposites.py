"""Words that tell the opposite of what a phrase is listed for, or of another airway than its own.

For checking what a site lists, not for hearing; a language may lack any of them.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from assistant.language.denials import denied_in
from assistant.language.tongue import Language

_OTHERWISE: Final[Mapping[Language, Mapping[str, re.Pattern[str]]]] = MappingProxyType(
    {
        "en": {
            "pulse_back": re.compile(
                r"\b(gone|lost|arrested|arresting|"
                r"(?<!compressions )stopped(?! (?:the |chest )*(?:compressions|cpr)\b))\b"
            ),
            "attempt_failed": re.compile(r"\b(worked|succeeded|success|successful)\b"),
            "tube_in": re.compile(r"\b(supraglottic|neck)\b"),
            "tube_past_cords": re.compile(r"\b(supraglottic|neck)\b"),
            "rescue_in": re.compile(r"\b(cords|neck)\b"),
            "neck_open": re.compile(r"\b(supraglottic|mouth|cords)\b"),
        },
        "ko": {"attempt_failed": re.compile(r"(성공\S*)")},
    }
)


def told_otherwise(words: str, meaning: str, language: Language) -> str | None:
    """The word that tells otherwise; None where none does, or the phrase denies it."""
    pattern = _OTHERWISE[language].get(meaning)
    found = None if pattern is None else pattern.search(words)
    return None if found is None or denied_in(words, language) else found[1]
