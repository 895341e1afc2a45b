"""Which of several looks at one utterance counts. The looks are made up; the verdicts are real."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples
from assistant.grammar.grammar import Danger, Grammar, Pattern
from assistant.grammar.readings import Verdict
from assistant.grammar.word_tree import Phrase
from assistant.hearing.engines.closed.beam import Scored
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine, Weighed, _Sounds
from assistant.hearing.engines.closed.evidence import Evidence
from assistant.hearing.engines.closed.sounds.opinion import PhrasesBySound

SOUND = np.full(RATE_HZ, 100, np.int16)
ACCEPTED = Evidence(
    "bag connected", filled=False, voice_s=0.8, ratio=0.0, mean=-0.4, doubt_margin=9.0
)
CLEARER = replace(ACCEPTED, mean=-0.2, longer_margin=2.0)
"""Likelier, but too close to a longer phrase."""
TAKEN_BACK = replace(ACCEPTED, mean=-0.2, doubt_margin=3.2)


def look(evidence: Evidence, danger: Danger, meaning: str = "plain_yes") -> Weighed:
    phrase = Phrase(Pattern(evidence.words, meaning, {}, danger), ())
    return Weighed(Scored(phrase, -1.0, 3, 0.0), evidence, "", None)


class LooksGiven(ClosedGrammarEngine):
    """The engine with looks that are given, in their order; the last one stays."""

    def __init__(self, whole: ClosedGrammarEngine, *looks: Weighed) -> None:
        super().__init__(model=whole.model)
        self._looks = list(looks)

    def _look(self, sound: Samples, lasts_s: float) -> Weighed:
        return self._looks.pop(0) if len(self._looks) > 1 else self._looks[0]

    def _hear_sounds(self, samples: Samples) -> _Sounds:
        return _Sounds(PhrasesBySound(Grammar((), {})), None)


@pytest.fixture
def verdict(engine: ClosedGrammarEngine) -> Callable[..., Verdict]:
    """What comes of such looks."""

    def found(*looks: Weighed) -> Verdict:
        given = LooksGiven(engine, *looks)
        weighed = given.weigh(SOUND)
        assert weighed is not None
        return given.judge(weighed).verdict

    return found


def test_a_plain_answer_counts_when_any_look_is_accepted(verdict: Callable[..., Verdict]) -> None:
    """Though the look before it was clearer, and asked back for what sounds like it."""
    clearer, accepted = (look(one, Danger.PLAIN) for one in (CLEARER, ACCEPTED))

    assert verdict(clearer, clearer) is Verdict.ASK
    assert verdict(clearer, accepted) is Verdict.ACCEPT


def test_what_acts_at_once_goes_by_its_clearest_look(verdict: Callable[..., Verdict]) -> None:
    """A doubt in the clearest one is not talked away by another."""
    clearer, accepted = (look(one, Danger.HIGH, "confirm") for one in (CLEARER, ACCEPTED))

    assert verdict(accepted) is Verdict.ACCEPT
    assert verdict(clearer, accepted) is Verdict.ASK


def test_what_may_take_a_plain_answer_back_is_not_looked_away(
    verdict: Callable[..., Verdict],
) -> None:
    """Of "rescue kit here if he can" a look with silence accepted the first three words."""
    taken_back, clearer, accepted = (
        look(one, Danger.PLAIN) for one in (TAKEN_BACK, CLEARER, ACCEPTED)
    )

    assert verdict(taken_back, accepted) is Verdict.ASK
    assert verdict(clearer, taken_back, accepted) is Verdict.ASK


def test_a_look_that_says_something_else_does_not_count(verdict: Callable[..., Verdict]) -> None:
    """Of looks that disagree the first stands."""
    clearer = look(CLEARER, Danger.PLAIN)

    assert verdict(clearer, look(ACCEPTED, Danger.PLAIN, "decline")) is Verdict.ASK
