"""How the phrases that were scored compare with the best of them."""

import math
import re
from collections.abc import Iterator

from assistant.grammar.grammar import Danger, Values
from assistant.grammar.word_tree import Phrase
from assistant.hearing.engines.closed.beam import Scored
from assistant.hearing.engines.closed.pace import syllables

_CLOSE_NATS = 5.0
"""Other values of the same meaning that are behind by less are told of as the runner-up: fifteen
and fifty, said plainly, are further apart than this; see docs/hearing-trials.md."""
_MORE_SYLLABLES = 2
"""What is misheard may be written longer by one: "a greed" for "agreed"."""
_UNSPOKEN = re.compile(r"[^\w' ]+")
"""What is written and not said; phrases have none of it."""


def runner_up(ranked: list[Scored]) -> Values | None:
    """The best other values of the meaning that won, when they are hardly behind it."""
    best = ranked[0]
    for one in ranked[1:]:
        alike = one.phrase.pattern.meaning == best.phrase.pattern.meaning
        if alike and not same(one, best) and best.rank - one.rank < _CLOSE_NATS:
            return one.phrase.values
    return None


def lead(best: Scored, others: Iterator[Scored]) -> float:
    """By how much it ranks above the best of the others, in nats; infinite without any."""
    return min((best.rank - one.rank for one in others), default=math.inf)


def has_another_value(one: Scored, best: Scored) -> bool:
    """The same phrase but for a drug or a number; one that leaves it out is shorter or longer."""
    if one.phrase.pattern.meaning != best.phrase.pattern.meaning:
        return False
    values, others = best.phrase.values, one.phrase.values
    return any(others.get(slot, values[slot]) != values[slot] for slot, _ in best.phrase.filled)


def is_longer(one: Scored, best: Scored) -> bool:
    """Whether it means something else and begins with the words of the best."""
    return not same(one, best) and one.phrase.words.startswith(f"{best.phrase.words} ")


def wrote_more(phrase: Phrase, written: str) -> bool:
    """Whether the free decode wrote more than the phrase, and the phrase among it, however spelt.

    Of a plain answer also whether it wrote so much more that the answer cannot have been all.
    """
    said = " ".join(_UNSPOKEN.sub(" ", written.lower()).split())
    if said in phrase.spellings:
        return False
    if phrase.pattern.danger is Danger.PLAIN:
        longest = max(map(syllables, phrase.spellings))
        if syllables(said) >= longest + _MORE_SYLLABLES:
            return True
    return any(f" {one} " in f" {said} " for one in phrase.spellings)


def same(one: Scored, other: Scored) -> bool:
    """Whether both mean the same, with the same values."""
    return _meaning(one) == _meaning(other)


def _meaning(scored: Scored) -> tuple[str, Values]:
    return scored.phrase.pattern.meaning, scored.phrase.values
