"""`spoken-brief check --learn`: how the recogniser writes what a site says, and what it favours."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import TypeVar

import numpy as np
from rich.console import Console
from rich.progress import track

from assistant.audio.sound import RATE_HZ, Samples
from assistant.errors import BadInput
from assistant.grammar.grammar import Filler, Grammar
from assistant.hearing.engines.closed import answer_spellings, name_bias, spellings
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.moonshine import Moonshine
from assistant.hearing.engines.closed.sounds.opinion import PhrasesBySound
from assistant.speaking.voices import LEARNING_VOICES, Voice, VoiceSettings, open_voice

_AROUND_SAMPLES = RATE_HZ // 4
_Thing = TypeVar("_Thing")


def learn_site(grammar: Grammar) -> None:
    """Learn what was never learnt: drugs that have no respellings, and plain answers.

    `grammar` is all that the site ever listens for.
    """
    voices = [open_voice(one) for one in LEARNING_VOICES]
    with suppress(BadInput):  # it comes with the extra [rehearsal]
        voices.append(open_voice(VoiceSettings(engine="natural", name="joe")))
    model = ClosedGrammarEngine(threads=1).model
    _learn_drugs(grammar, voices, model)
    _learn_answers(grammar, voices, model)
    PhrasesBySound(grammar)  # how all of it is pronounced is asked for once, and kept


def _learn_drugs(grammar: Grammar, voices: Sequence[Voice], model: Moonshine) -> None:
    drugs = grammar.fillers.get("drug", ())
    names = [
        one.words
        for one in drugs
        if not one.respellings and spellings.stored_spellings(one.words) is None
    ]

    def say(text: str) -> list[Samples]:
        return [one.render(text) for one in voices]

    for name in _shown(names, "Learning the drugs' names"):
        others = [one.words for one in drugs if one.words != name]
        learnt = spellings.learn([name], others, model, say)
        spellings.store(learnt)
        print(f"Learnt: {name}, also written {', '.join(learnt[name]) or 'in no other way'}")
    _measure(spellings.with_spellings(grammar).fillers.get("drug", ()), model)


def _learn_answers(grammar: Grammar, voices: Sequence[Voice], model: Moonshine) -> None:
    new = answer_spellings.unlearnt(grammar)

    def say(text: str) -> list[Samples]:
        return [np.pad(one.render(text), _AROUND_SAMPLES) for one in voices]

    respelt = 0
    for answer in _shown(new, "Learning the plain answers"):
        learnt = answer_spellings.learn([answer], grammar, model, say)
        answer_spellings.store(learnt)
        respelt += bool(learnt[answer])
    if new:
        print(f"Learnt: {len(new)} plain answers, {respelt} of them also written otherwise")


def _measure(drugs: Sequence[Filler], model: Moonshine) -> None:
    """How much the model favours each drug for which that is not known."""
    new = [one for one in drugs if name_bias.stored_bias(one) is None]
    if not new:
        return
    voice = open_voice(LEARNING_VOICES[0])
    others = _shown(drugs, "Saying the other drugs")
    name_bias.store(name_bias.measure(new, others, model, voice.render), new)
    print(f"Measured, how much the recogniser favours {', '.join(one.words for one in new)}")


def _shown(things: Sequence[_Thing], description: str) -> Iterable[_Thing]:
    return track(things, description=description, console=Console(stderr=True))
