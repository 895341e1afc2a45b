"""Which phrases of the tree the sound supports best: a batched beam search over token prefixes."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from assistant.grammar.word_tree import Phrase
from assistant.hearing.engines.closed.moonshine import Moonshine, Prefixes
from assistant.hearing.engines.closed.token_tree import PhraseTree, Prefix
from assistant.hearing.engines.closed.tokenizer import END

PER_TOKEN = 0.7
"""Nats that a phrase gains for each token; the insertion bonus of speech recognition."""
DECOY_NATS = 2.0
"""A decoy has to fit that much better than what may be said to be the best: else a spoilt
"affirmative" goes to "thank you". Weighed on the tuning voices. As a rival it counts in full."""
_LONGEST_TOKENS = 60
_ALWAYS_KEPT = 3  # prefixes that go on although nothing can be accepted: the record names a phrase


@dataclass(frozen=True, slots=True)
class Scored:
    """A whole phrase and its total log-probability, the end token included."""

    phrase: Phrase
    total: float
    tokens: int
    strain: float
    """What else speaks against it, in nats: the time that it took, a name that is favoured."""

    @property
    def fit(self) -> float:
        """What phrases are compared by: each token costs, so that of two poor phrases the shorter
        would win merely for being shorter ("no" for "video first")."""
        return self.total + PER_TOKEN * self.tokens - self.strain

    @property
    def rank(self) -> float:
        """The same, with decoys behind."""
        return self.fit - (0.0 if self.phrase.pattern.for_me else DECOY_NATS)


@dataclass(frozen=True, slots=True)
class _Live:
    total: float
    row: int
    token: int
    prefix: Prefix


@dataclass(frozen=True, slots=True)
class Limits:
    """What the search drops, in nats.

    A total only falls as tokens are added. So a prefix below `floor` (what could still be
    accepted) is dropped without loss; one that ranks more than `window` below the best whole
    phrase would need many good tokens to compete with it. When slots make prefixes many, the work
    is bounded by `width` rows, and by dropping what has fallen `trail` behind the best prefix of
    equal length.
    """

    width: int = 40
    trail: float = 8.0
    window: float = 8.0
    floor: float = -math.inf


def search(
    model: Moonshine,
    start: Prefixes,
    tree: PhraseTree,
    *,
    strain: Callable[[Phrase], float],
    limits: Limits,
) -> list[Scored]:
    """The best phrases, best first; each once, with its best spelling.

    `strain` tells what else speaks against a phrase, in nats; infinite: it is out of the question.
    """
    found: dict[tuple[object, ...], Scored] = {}
    best = -math.inf
    at = start
    live = [
        _Live(float(at.log_probs[0, token]), 0, token, prefix)
        for token, prefix in tree.openings().items()
    ]
    for depth in range(2, _LONGEST_TOKENS):
        live.sort(key=lambda one: -one.total)
        leader = live[0].total if live else -math.inf
        close = best - limits.window - PER_TOKEN * depth
        limit = max(limits.floor, close, leader - limits.trail)
        live = [
            one
            for place, one in enumerate(live[: limits.width])
            if one.total >= limit or (not found and place < _ALWAYS_KEPT)
        ]
        if not live:
            break
        at = model.step(at, [one.row for one in live], [one.token for one in live])
        longer: list[_Live] = []
        leader = -math.inf
        for row, one in enumerate(live):
            log_probs = at.log_probs[row]
            end = float(log_probs[END])
            for phrase in tree.complete(one.prefix):
                against = strain(phrase)
                if against == math.inf:
                    continue
                key = (id(phrase.pattern), *phrase.filled)
                scored = Scored(phrase, one.total + end, depth, against)
                if key not in found or scored.rank > found[key].rank:
                    found[key] = scored
                    best = max(best, scored.rank)
            nexts = tree.next(one.prefix)
            for (token, prefix), log_prob in zip(
                nexts.items(), log_probs[list(nexts)].tolist(), strict=True
            ):
                total = one.total + log_prob
                leader = max(leader, total)
                if total >= leader - limits.trail:
                    longer.append(_Live(total, row, token, prefix))
        live = longer
    return sorted(found.values(), key=lambda scored: -scored.rank)
