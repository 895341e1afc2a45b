"""How long a phrase may take to say: a second-long "no" is no "no"."""

import re

_VOWELS = re.compile(r"[aeiouy]+")
_SILENT_END = re.compile(r"(?<=[^aeiouyl])es?\b|(?<=[^aeiouydt])ed\b")
_FASTEST_S = 0.07
_SLOWEST_S = 0.42
_SLOWEST_LATER_S = 0.25
_PAUSE_S = 0.7
_SPARE_S = 0.4
"""Seconds a syllable at the fastest and at the slowest, the latter for the first four and for those
after them; and one pause for thought, which a single word has no place for, only soft edges.
Ordinary speech has four to six syllables a second, so all ends are wide: this only refuses what can
hardly be."""


def syllables(words: str) -> int:
    """About how many syllables English words have, by their groups of vowels."""
    return sum(max(1, len(_VOWELS.findall(_SILENT_END.sub("", word)))) for word in words.split())


def can_last(words: str, seconds: float) -> bool:
    """Whether a person could take that long to say the words."""
    count = syllables(words)
    spare_s = _PAUSE_S if " " in words else _SPARE_S
    slowest_s = spare_s + _SLOWEST_S * min(count, 4) + _SLOWEST_LATER_S * max(0, count - 4)
    return count * _FASTEST_S <= seconds <= slowest_s
