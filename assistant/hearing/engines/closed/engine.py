"""The embedded engine: scores what may be said now, and rejects what is not of it.

The sound is encoded once. Every phrase that may be said now is scored by its log-probability under
the model; the model's own unprompted decode of the same sound is what "anything else" would score.
The free decode is only ever compared with, never shown, spoken or kept. A plain answer whose words
do not settle it may be settled by its sounds, which another model hears; and what acts at once, and
was not understood by its words, is asked back by them.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples, silence
from assistant.grammar.grammar import Danger, Grammar, spoken_parts
from assistant.grammar.readings import Reading, Verdict
from assistant.grammar.word_tree import Phrase
from assistant.hearing.engines.closed.answer_spellings import with_answer_spellings
from assistant.hearing.engines.closed.installed import installed_model
from assistant.hearing.engines.closed.judging import Found, Told, verdict_by_words, verdict_on
from assistant.hearing.engines.closed.looks import LONE, Looks, Weighed
from assistant.hearing.engines.closed.moonshine import Moonshine
from assistant.hearing.engines.closed.name_bias import with_bias
from assistant.hearing.engines.closed.rivals import same
from assistant.hearing.engines.closed.sounds.model import Heard, SoundModel
from assistant.hearing.engines.closed.sounds.opinion import NO_OPINIONS, Opinions, PhrasesBySound
from assistant.hearing.engines.closed.spellings import with_spellings
from assistant.hearing.engines.closed.suppression import without_noise
from assistant.hearing.engines.closed.token_tree import PhraseTree
from assistant.hearing.engines.closed.verdicts import (
    Fitted,
    confidence,
    fitted,
    is_taken_back,
    likelihood,
)

_GRAMMARS_KEPT = 32
"""A brief comes back to the grammars of its few kinds of items; a tree takes about a megabyte."""
_BEFORE_S, _AFTER_S = 0.25, 0.5
"""The silence that is added."""
_NEARLY_LOG_ODDS = -1.5
"""A lone word that is less likely than this is not looked at again."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What an utterance is taken for, and how surely."""

    verdict: Verdict
    why: str
    """Why the verdict is not ACCEPT."""
    phrase: Phrase
    confidence: float


@dataclass(slots=True)
class _Said:
    """What may be said: as words, and once they are needed as sounds."""

    grammar: Grammar
    tree: PhraseTree
    by_sound: PhrasesBySound | None = None


@dataclass(frozen=True, slots=True)
class _Sounds:
    """The sounds of one utterance, and the best phrases by them."""

    said: PhrasesBySound
    heard: Heard | None
    """None where nothing that may be said is told by its sounds."""
    opinions: Opinions = NO_OPINIONS

    def added_to(self, look: Weighed) -> Weighed:
        """The look with those opinions; a number that is checked without a lead over other numbers
        where its sounds have another ahead: "fifty litres", of which noise made a "fifteen"."""
        evidence = look.evidence
        if self._has_another_number(look.best.phrase):
            evidence = replace(evidence, value_margin=min(evidence.value_margin, 0.0))
        return replace(look, evidence=evidence, by_sound=self.opinions)

    def _has_another_number(self, phrase: Phrase) -> bool:
        if self.heard is None or phrase.pattern.danger is not Danger.SETTING:
            return False
        return self.said.lead_over_other_numbers(self.heard, phrase) < 0


class ClosedGrammarEngine:
    """Moonshine tiny English with a closed grammar."""

    name = "closed"

    def __init__(
        self,
        model_folder: Path | None = None,
        threads: int = 2,
        model: Moonshine | None = None,
        by: Fitted | None = None,
    ) -> None:
        """`model`: opened already, in place of the one in the folder; `by`: thresholds in place of
        those that were fitted."""
        self._model = model or Moonshine(model_folder or installed_model(), threads)
        self._looks = Looks(self._model)
        self._fitted = by or fitted()
        self._sounds = SoundModel()
        self._said: _Said | None = None
        self._trees: dict[int, _Said] = {}

    def listen_for(self, grammar: Grammar) -> None:
        """From now on, only this may be said. The trees of the last grammars are kept."""
        said = self._trees.pop(id(grammar), None)
        if said is None or said.grammar is not grammar:
            spelt = with_answer_spellings(with_bias(with_spellings(grammar)))
            said = _Said(grammar, PhraseTree(spelt, self._model.tokenizer))
        self._trees[id(grammar)] = said  # as the last: the first is the longest unused
        if len(self._trees) > _GRAMMARS_KEPT:
            del self._trees[next(iter(self._trees))]
        self._said = said

    def read(self, samples: Samples) -> Reading:
        """Read one whole utterance."""
        weighed = self.weigh(samples)
        if weighed is None:
            return Reading(text="", meaning="", why="nothing that may be said now lasts so long")
        judged = self.judge(weighed)
        by_words = judged.phrase is weighed.best.phrase
        return Reading(
            text=judged.phrase.words,
            meaning=judged.phrase.pattern.meaning,
            values=judged.phrase.values,
            confidence=judged.confidence,
            verdict=judged.verdict,
            why=judged.why,
            runner_up=weighed.runner_up if by_words else None,
        )

    def weigh(self, samples: Samples) -> Weighed | None:
        """The best phrase and its evidence; None when no phrase can last so long.

        Where its words do not settle it, a plain answer may be settled by its sounds; and what was
        taken back by its sounds, its words do not settle, where they might be its denial's.

        The first look is at the sound without its noise. What would be asked back by it, a lone
        word also when it nearly would, is looked at again: with the noise, as taking that away
        takes other sounds too; with a silence after it, before which the model hears short words
        better; and with a silence on both sides. Of those looks that say the same, the clearest
        counts. Of a plain answer the first that is accepted does; but what might take it back, in
        any look before that, is not looked away.
        """
        quieter = without_noise(samples)
        lasts_s = len(samples) / RATE_HZ
        first = self._look(quieter, lasts_s)
        if first is None or self._is_clear(first):
            return first
        sounds = self._hear_sounds(samples)
        first = sounds.added_to(first)
        plain = first.best.phrase.pattern.danger is Danger.PLAIN
        settled = self._is_accepted(first) or self._is_taken_back(first)
        if settled or not self._is_looked_at_again(first):
            return first
        others = [] if quieter is samples else [samples]
        ended = np.concatenate([quieter, silence(_AFTER_S)])
        others += [ended, np.concatenate([silence(_BEFORE_S), ended])]
        clearest = first
        for sound in others:
            look = self._look(sound, lasts_s)
            if look is None or not same(look.best, first.best):
                continue
            look = sounds.added_to(look)
            if self._is_taken_back(look):
                return look
            if self._is_accepted(look) and (plain or self._odds(look) >= self._odds(clearest)):
                return look  # whoever spoke waits for what the other looks would add
            clearest = max(clearest, look, key=self._odds)
        return clearest

    def _is_looked_at_again(self, first: Weighed) -> bool:
        """What would be asked back, and a lone word that nearly would: silence helps that most."""
        verdict, phrase = self._by_words(first), first.best.phrase
        lone = phrase.pattern.for_me and " " not in phrase.words
        nearly = lone and phrase.pattern.danger in LONE and self._odds(first) > _NEARLY_LOG_ODDS
        return verdict is Verdict.ASK or (verdict is Verdict.IGNORE and nearly)

    def _is_taken_back(self, look: Weighed) -> bool:
        """A plain answer that is asked back for what may stand around it: "... if he can"."""
        plain = look.best.phrase.pattern.danger is Danger.PLAIN
        asked = plain and self._by_words(look) is Verdict.ASK
        return asked and is_taken_back(self._fitted.leads, look.evidence)

    def _is_accepted(self, look: Weighed) -> bool:
        return self.judge(look).verdict is Verdict.ACCEPT

    def _odds(self, look: Weighed) -> float:
        return self._fitted.log_odds(look.evidence)

    def _is_clear(self, look: Weighed) -> bool:
        """Accepted by its words, with nothing left that its sounds are to be held against."""
        danger, evidence = look.best.phrase.pattern.danger, look.evidence
        if self._by_words(look) is not Verdict.ACCEPT or danger is Danger.SETTING:
            return False
        lead = min(evidence.denial_margin, evidence.doubt_margin)
        return danger is not Danger.PLAIN or lead >= self._fitted.sound_leads.checked

    def _hear_sounds(self, samples: Samples) -> _Sounds:
        """What its sounds say, with its noise: the words are looked for without."""
        said = self._told()
        if said.by_sound is None:
            try:
                said.by_sound = PhrasesBySound(said.grammar)
            except OSError:  # without espeak-ng the words have to do
                said.by_sound = PhrasesBySound(Grammar((), {}))
        by_sound = said.by_sound
        if not by_sound.has_phrases and not by_sound.has_numbers:
            return _Sounds(by_sound, None)
        heard = self._sounds.heard(samples)
        return _Sounds(by_sound, heard, by_sound.opinions(heard))

    def judge(self, weighed: Weighed) -> Judged:
        """The verdict on what was weighed: by its words, else by its sounds."""
        by, sounds = self._fitted, weighed.by_sound
        verdict, why, told = verdict_on(by, _found(weighed))
        opinions = {
            Told.ANSWER: sounds.answer,
            Told.NUMBER: sounds.number,
            Told.AT_ONCE: sounds.at_once,
        }
        opinion = opinions.get(told)
        if opinion is None:
            sure = confidence(by, weighed.evidence)
            return Judged(verdict, why, weighed.best.phrase, sure)
        return Judged(verdict, why, opinion.phrase, likelihood(by.sound_log_odds(opinion.evidence)))

    def _by_words(self, look: Weighed) -> Verdict:
        return verdict_by_words(self._fitted, _found(look))[0]

    def _told(self) -> "_Said":
        if self._said is None:
            raise RuntimeError("the engine was not told what may be said")
        return self._said

    def _look(self, sound: Samples, lasts_s: float) -> Weighed | None:
        return self._looks.look(sound, self._told().tree, lasts_s)

    @property
    def model(self) -> Moonshine:
        """The model itself, for learning names."""
        return self._model

    def missing_words(self, grammar: Grammar) -> tuple[str, ...]:
        """The words with letters that the model never writes: another language's."""
        words = {word for part in spoken_parts(grammar) for word in part.split()}
        return tuple(sorted(word for word in words if not self._model.tokenizer.knows(word)))


def _found(weighed: Weighed) -> Found:
    """What the verdict goes by."""
    phrase, sounds = weighed.best.phrase, weighed.by_sound
    pattern, number = phrase.pattern, sounds.number
    is_number = pattern.danger is Danger.NUMBER
    return Found(
        words=weighed.evidence,
        danger=pattern.danger,
        for_me=pattern.for_me,
        rival=weighed.rival,
        is_asked_back=pattern.is_asked_back,
        answer=None if sounds.answer is None else sounds.answer.evidence,
        number=None if number is None else number.evidence,
        number_agrees=number is not None and is_number and phrase.values == number.phrase.values,
        at_once=None if sounds.at_once is None else sounds.at_once.evidence,
    )
