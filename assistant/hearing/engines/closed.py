"""The embedded engine: scores what may be said now, and rejects what is not of it.

The sound is encoded once. Every phrase that may be said now is scored by its log-probability under
the model; the model's own unprompted decode of the same sound is what "anything else" would score.
The free decode is only ever compared with, never shown, spoken or kept.
"""

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from assistant.hearing.engines.beam import Limits, Scored, search
from assistant.hearing.engines.moonshine import Moonshine, Prefixes, installed_model
from assistant.hearing.engines.negation import negated
from assistant.hearing.engines.pace import can_last
from assistant.hearing.engines.tokenizer import END
from assistant.hearing.engines.tree import PhraseTree
from assistant.hearing.engines.verdicts import Evidence, Thresholds, confidence, judge
from assistant.hearing.grammar import Danger, Grammar, Values, spoken_parts
from assistant.hearing.heard import Reading, Verdict
from assistant.hearing.learning import with_learnt
from assistant.sound import RATE_HZ, Samples

_WINDOW_NATS = 8.0
"""A rival further behind than this is no rival; the margin is then said to be this."""
_DENIAL_NATS = 7.5
"""A confirmation leads the same words with "isn't" by 7.6 nats and more when it was said, by 6.5
and less (but for one rendering of sixteen in noise) when "isn't" was."""
_CLOSE_NATS = 5.0
"""Other values of the same meaning that are behind by less are told of as the runner-up: fifteen
and fifty, said plainly, are further apart than this; see docs/hearing.md."""
_REACH_NATS = 24.0
"""How far below the free decode a phrase may fall and still be looked for."""
_GRAMMARS_KEPT = 32
"""A brief comes back to the grammars of its few kinds of items; a tree takes about a megabyte."""
_AROUND_S = 0.4
"""Silence that the ear leaves around an utterance, about."""


class ClosedGrammarEngine:
    """Moonshine tiny English with a closed grammar."""

    name = "closed"

    def __init__(
        self,
        model_folder: Path | None = None,
        threads: int = 2,
        thresholds: Thresholds | None = None,
    ) -> None:
        self._model = Moonshine(model_folder or installed_model(), threads)
        self._thresholds = thresholds or Thresholds()
        self._tree: PhraseTree | None = None
        self._trees: dict[int, tuple[Grammar, PhraseTree]] = {}

    def listen_for(self, grammar: Grammar) -> None:
        """From now on, only this may be said. The trees of the last grammars are kept."""
        tree = self._trees.pop(id(grammar), None)
        if tree is None or tree[0] is not grammar:
            tree = grammar, PhraseTree(with_learnt(grammar), self._model.tokenizer)
        self._trees[id(grammar)] = tree  # as the last: the first is the longest unused
        if len(self._trees) > _GRAMMARS_KEPT:
            del self._trees[next(iter(self._trees))]
        self._tree = tree[1]

    def read(self, samples: Samples) -> Reading:
        """Read one whole utterance."""
        if self._tree is None:
            raise RuntimeError("the engine was not told what may be said")
        start = self._model.begin(samples)
        seconds = len(samples) / RATE_HZ
        voice_s = max(0.0, seconds - _AROUND_S)
        _, free = self._model.free(start, seconds)
        ranked = search(
            self._model,
            start,
            self._tree,
            fits=lambda phrase: can_last(phrase.words, voice_s),
            limits=Limits(window=_WINDOW_NATS, floor=free - _REACH_NATS),
        )
        reading = self._judged(ranked, free)
        if reading.verdict is Verdict.ACCEPT and ranked[0].phrase.pattern.danger is Danger.HIGH:
            return self._denied_or(start, reading)
        return reading

    def _denied_or(self, start: Prefixes, reading: Reading) -> Reading:
        """Ask back when the same words with a "not" among them fit the sound nearly as well."""
        said, *denials = [
            self._model.forced(start, (*self._model.tokenizer.sentence(_as_written(words)), END))
            for words in (reading.text, *negated(reading.text))
        ]
        if all(said - denial >= _DENIAL_NATS for denial in denials):
            return reading
        return replace(reading, verdict=Verdict.ASK, why="too close to its own denial")

    @property
    def model(self) -> Moonshine:
        """The model itself, for learning names."""
        return self._model

    def missing_words(self, grammar: Grammar) -> tuple[str, ...]:
        """The words with letters that the model never writes: another language's."""
        words = {word for part in spoken_parts(grammar) for word in part.split()}
        return tuple(sorted(word for word in words if not self._model.tokenizer.knows(word)))

    def _judged(self, ranked: list[Scored], free: float) -> Reading:
        if not ranked:
            return Reading(text="", meaning="", why="nothing that may be said now lasts so long")
        best = ranked[0]
        rival = next((one for one in ranked if not _same(one, best)), None)
        lead = math.inf if rival is None else best.rank - rival.rank
        evidence = Evidence(
            ratio=(best.total - free) / best.tokens,
            mean=best.total / best.tokens,
            worst=best.worst,
            margin=min(lead, _WINDOW_NATS),
            value_margin=_lead(best, (one for one in ranked if _has_another_value(one, best))),
            longer_margin=_lead(best, (one for one in ranked if _goes_on(one, best))),
        )
        pattern = best.phrase.pattern
        verdict, why = judge(
            self._thresholds,
            evidence,
            danger=pattern.danger,
            phrase=best.phrase.words,
            rival="" if rival is None else rival.phrase.words,
            filled=bool(best.phrase.filled),
        )
        if not pattern.for_me and verdict is not Verdict.IGNORE:
            verdict, why = Verdict.IGNORE, "not for me"
        return Reading(
            text=best.phrase.words,
            meaning=pattern.meaning,
            values=best.phrase.values,
            confidence=confidence(evidence),
            verdict=verdict,
            why=why,
            runner_up=runner_up(ranked),
        )


def _as_written(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def runner_up(ranked: list[Scored]) -> Values | None:
    """The best other values of the meaning that won, when they are hardly behind it."""
    best = ranked[0]
    for one in ranked[1:]:
        alike = one.phrase.pattern.meaning == best.phrase.pattern.meaning
        if alike and not _same(one, best) and best.rank - one.rank < _CLOSE_NATS:
            return one.phrase.values
    return None


def _lead(best: Scored, others: Iterator[Scored]) -> float:
    return min((best.rank - one.rank for one in others), default=math.inf)


def _has_another_value(one: Scored, best: Scored) -> bool:
    """The same phrase but for a drug or a number; one that leaves it out is shorter or longer."""
    if one.phrase.pattern.meaning != best.phrase.pattern.meaning:
        return False
    values, others = best.phrase.values, one.phrase.values
    return any(others.get(slot, values[slot]) != values[slot] for slot, _ in best.phrase.filled)


def _goes_on(one: Scored, best: Scored) -> bool:
    return not _same(one, best) and one.phrase.words.startswith(f"{best.phrase.words} ")


def _same(one: Scored, other: Scored) -> bool:
    return _meaning(one) == _meaning(other)


def _meaning(scored: Scored) -> tuple[str, Values]:
    return scored.phrase.pattern.meaning, scored.phrase.values
