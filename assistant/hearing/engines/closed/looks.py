"""One look at an utterance: what its words are best taken for, and what speaks for that."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from heapq import nlargest

from assistant.audio.sound import Samples
from assistant.grammar.grammar import Danger, Values
from assistant.grammar.word_tree import Phrase
from assistant.hearing.engines.closed.beam import Limits, Scored, search
from assistant.hearing.engines.closed.evidence import DENIAL_NATS, LEAD_NATS, Evidence
from assistant.hearing.engines.closed.moonshine import Moonshine, Prefixes, Tokens
from assistant.hearing.engines.closed.negation import (
    conditions,
    denials,
    doubts_after,
    doubts_before,
    opposites,
)
from assistant.hearing.engines.closed.pace import strain
from assistant.hearing.engines.closed.rivals import (
    has_another_value,
    is_longer,
    lead,
    runner_up,
    same,
    wrote_more,
)
from assistant.hearing.engines.closed.sounds.opinion import NO_OPINIONS, Opinions
from assistant.hearing.engines.closed.token_tree import PhraseTree
from assistant.hearing.engines.closed.tokenizer import END

_REACH_NATS = 24.0
"""How far below the free decode a phrase may fall and still be looked for."""
_CONDITIONS_WEIGHED = 8
"""Of all words that make a condition of what was said, those that its sound most likely begins
with: each costs as much as the phrase itself."""
_AROUND_S = 0.4
"""Silence that the ear leaves around an utterance, about."""
LONE = (Danger.PLAIN, Danger.LOW)
"""What people say in one word, and draw out."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """The best phrase of an utterance, with what speaks for it and who its rivals are."""

    best: Scored
    evidence: Evidence
    rival: str
    """The best phrase that means something else; empty without one."""
    runner_up: Values | None
    """The best other values of the same meaning, when they are hardly behind."""
    by_sound: Opinions = NO_OPINIONS
    """The best phrases by their sounds, where those were heard."""


class Looks:
    """Looks at sounds with the model of sentences."""

    def __init__(self, model: Moonshine) -> None:
        self._model = model

    def look(self, sound: Samples, tree: PhraseTree, lasts_s: float) -> Weighed | None:
        """What of the tree the sound is best taken for; None when no phrase can last so long.
        `lasts_s`: how long the utterance is, whatever silence was added."""
        start = self._model.begin(sound)
        voice_s = max(0.0, lasts_s - _AROUND_S)
        written, free = self._model.free(start, lasts_s)
        ranked = search(
            self._model,
            start,
            tree,
            strain=lambda phrase: _strain(phrase, voice_s),
            limits=Limits(window=LEAD_NATS, floor=free - _REACH_NATS),
        )
        if not ranked:
            return None
        best = ranked[0]
        rivals = (one for one in ranked if not same(one, best))
        rival = max(rivals, key=lambda one: one.fit, default=None)
        denial_margin, doubt_margin = self._ahead_of_its_denial(start, best)
        evidence = Evidence(
            words=best.phrase.words,
            filled=bool(best.phrase.filled),
            voice_s=voice_s,
            ratio=(best.total - free) / best.tokens,
            mean=best.total / best.tokens,
            margin=math.inf if rival is None else best.rank - rival.fit,
            value_margin=lead(best, (one for one in ranked if has_another_value(one, best))),
            longer_margin=lead(best, (one for one in ranked if is_longer(one, best))),
            denial_margin=denial_margin,
            doubt_margin=doubt_margin,
            said_more=wrote_more(best.phrase, self._model.tokenizer.text(written)),
        )
        return Weighed(
            best, evidence, "" if rival is None else rival.phrase.words, runner_up(ranked)
        )

    def _ahead_of_its_denial(self, start: Prefixes, best: Scored) -> tuple[float, float]:
        """How much better the words fit the sound than the best of their denials, and than the best
        of what would take a plain answer back.
        """
        pattern, words = best.phrase.pattern, best.phrase.words
        if not pattern.danger.settles_at_once or not pattern.for_me or best.phrase.filled:
            return math.inf, math.inf
        denied = [*map(self._tokens, denials(words)), *self._likeliest(start, conditions(words))]
        doubted: list[Tokens] = []
        if pattern.danger is Danger.PLAIN:
            doubted += map(self._tokens, (*doubts_after(words), *opposites(words)))
            doubted += self._likeliest(start, doubts_before(words))
        total, *others = self._model.forced(
            start, [self._tokens(words), *denied, *doubted], reach=DENIAL_NATS
        )
        of_denied, of_doubted = others[: len(denied)], others[len(denied) :]
        return total - max(of_denied), total - max(of_doubted, default=-math.inf)

    def _likeliest(self, start: Prefixes, ways: Iterable[str]) -> list[Tokens]:
        """Of these, the few that the sound most likely begins with."""
        tokens = map(self._tokens, ways)
        return nlargest(_CONDITIONS_WEIGHED, tokens, key=lambda one: start.log_probs[0, one[0]])

    def _tokens(self, words: str) -> Tokens:
        return (*self._model.tokenizer.sentence(_as_written(words)), END)


def _strain(phrase: Phrase, voice_s: float) -> float:
    """What else than the sound itself speaks against a phrase, in nats."""
    drawn_out = phrase.pattern.danger in LONE
    return strain(phrase.words, voice_s, drawn_out=drawn_out) + _bias_nats(phrase)


def _bias_nats(phrase: Phrase) -> float:
    """What the model likes about the names in it, whatever was said."""
    return sum(filler.bias_nats for _, filler in phrase.filled)


def _as_written(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
