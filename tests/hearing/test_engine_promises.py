"""What every engine promises, whichever it is."""

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ
from assistant.grammar.grammar import Danger, Grammar, Pattern
from assistant.grammar.readings import Engine, Verdict
from assistant.hearing.engines import ENGINES, make_engine
from assistant.hearing.engines.vosk.engine import VoskEngine

WORDS = {"closed": ("cuff is up", "not yet"), "vosk": ("확인 했습니다", "아직 아닙니다")}
"""What is listened for, in the language of each engine's model."""


@pytest.fixture(scope="module", params=ENGINES)
def engine(request: pytest.FixtureRequest) -> Engine:
    """Each in turn, with a real model."""
    if request.param != "vosk":
        return make_engine(request.param)
    return VoskEngine(request.getfixturevalue("korean_model"))


@pytest.fixture
def grammar(engine: Engine) -> Grammar:
    """A confirmation and its denial."""
    confirm, decline = WORDS[engine.name]
    return Grammar(
        (Pattern(confirm, "confirm", danger=Danger.HIGH), Pattern(decline, "decline")),
    )


def test_an_engine_can_be_chosen_by_its_own_name(engine: Engine) -> None:
    """As a site's hearing.yaml and the command line name it."""
    assert engine.name in ENGINES


def test_what_is_no_utterance_is_not_for_the_assistant(engine: Engine, grammar: Grammar) -> None:
    """Nothing at all, silence, hum and noise: ignored, and named by nothing but the grammar."""
    engine.listen_for(grammar)
    noise = np.random.default_rng(1).normal(0, 2000, RATE_HZ)
    hum = 3000 * np.sin(2 * np.pi * 50 * np.arange(RATE_HZ) / RATE_HZ)
    for sound in (np.zeros(0), np.zeros(RATE_HZ), noise, hum):
        reading = engine.read(sound.astype(np.int16))
        assert reading.verdict is Verdict.IGNORE
        assert reading.text in ("", *(pattern.words for pattern in grammar.patterns))


def test_the_words_that_it_cannot_hear_are_named_in_their_order(engine: Engine) -> None:
    """And no others: a site learns of them before a case does."""
    words = WORDS[engine.name][0]
    strange = Grammar((Pattern(words, "confirm"), Pattern(f"{words} qqq zzz", "decline")))
    lacks = {"closed": (), "vosk": ("qqq", "zzz")}  # the closed one spells, and lacks none
    assert engine.missing_words(strange) == lacks[engine.name]
