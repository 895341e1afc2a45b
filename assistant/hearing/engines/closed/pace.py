"""How long a phrase takes to say: a second-long "no" is no "no"."""

import math
import re
from itertools import pairwise

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

_DRAWN_OUT_S = 0.25
_DIGITS = frozenset(
    ("zero", "oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
)
_DIGIT_PAUSE_S = 0.35
"""Whoever is asked for digits one by one makes pauses between them, or none."""
_EDGES_S, _SYLLABLE_S = 0.2, 0.185
_AT_EASE, _STRAIN_NATS = 0.2, 8.0
"""Up to a fifth (as a logarithm) slower or faster than usual costs nothing; beyond, nats grow with
the square. Weighed on the tuning voices: more of it helps no further."""
_AT_EASE_DRAWN_OUT = 0.7
"""The same of a lone word that may be drawn out, as people's are: twice as long costs nothing."""


def syllables(words: str) -> int:
    """About how many syllables English words have, by their groups of vowels."""
    return sum(max(1, len(_VOWELS.findall(_SILENT_END.sub("", word)))) for word in words.split())


def pace(words: str, seconds: float) -> float:
    """The logarithm of how much longer than usual it took to say the words; below 0: shorter."""
    usual_s = _EDGES_S + _SYLLABLE_S * syllables(words)
    longer_s = usual_s + _pauses_s(words)
    return math.log(max(seconds, 0.05) / min(max(usual_s, seconds), longer_s))


def strain(words: str, seconds: float, *, drawn_out: bool = False) -> float:
    """What the time that the words took speaks against them, in nats; infinite: it cannot be.

    With `drawn_out` a lone word may last longer, as people's "yes" does; an alarm's long note would
    else be a "no".
    """
    longer_s = _DRAWN_OUT_S if drawn_out and " " not in words else 0.0
    if not _can_last(words, seconds, longer_s):
        return math.inf
    took = pace(words, seconds)
    at_ease = _AT_EASE_DRAWN_OUT if longer_s and took > 0 else _AT_EASE
    return _STRAIN_NATS * max(0.0, abs(took) - at_ease) ** 2


def _pauses_s(words: str) -> float:
    """How much longer digit by digit may take."""
    said = words.split()
    between = sum(one in _DIGITS and other in _DIGITS for one, other in pairwise(said))
    return _DIGIT_PAUSE_S * between


def _can_last(words: str, seconds: float, longer_s: float) -> bool:
    count = syllables(words)
    spare_s = longer_s + (_PAUSE_S if " " in words else _SPARE_S)
    slowest_s = spare_s + _SLOWEST_S * min(count, 4) + _SLOWEST_LATER_S * max(0, count - 4)
    slowest_s += _pauses_s(words)
    return count * _FASTEST_S <= seconds <= slowest_s
