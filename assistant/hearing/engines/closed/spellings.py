"""Names that the model has never read: how it writes them when a synthetic voice says them.

A site adds a drug in YAML; `spoken-brief check --learn` has voices say it, and keeps what the model
wrote as further spellings of the same name. They are kept by content, outside the site's files.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.grammar.grammar import Filler, Grammar
from assistant.hearing.engines.closed import name_cache
from assistant.hearing.engines.closed.moonshine import Moonshine
from assistant.hearing.soundalikes import phonemes, unlikeness

CARRIERS = ("What is the dose of {}?", "Dose of {}.", "How do I mix {}?")
_NAME = re.compile(r"(?:dose of|mix) (.+)$")
_FOLDER = "spellings"
_MOST_SPELLINGS = 5
_MOST_WORDS = 4
_UNLIKE = 0.5
"""A spelling that sounds further from its name than this is a mishearing, not a spelling."""
_AROUND_SAMPLES = RATE_HZ // 4

Say = Callable[[str], Iterable[Samples]]
"""The text by one voice after another."""


def learn(
    names: Sequence[str], others: Sequence[str], model: Moonshine, say: Say
) -> Mapping[str, tuple[str, ...]]:
    """What the model writes for each name, in the order in which it was first written.

    Only spellings that sound like their name, and more like it than like any other of `names` and
    `others`. Raises OSError when espeak-ng, which tells the sounds, is not there.
    """
    found = {name: tuple(_written(name, model, say)) for name in names}
    every = [*names, *others]
    sounds = phonemes([*every, *(one for spellings in found.values() for one in spellings)])

    def is_like(spelling: str, name: str) -> bool:
        away = {other: unlikeness(sounds[spelling], sounds[other]) for other in every}
        return away[name] < _UNLIKE and away[name] == min(away.values())

    return {
        name: tuple(one for one in spellings if is_like(one, name))[:_MOST_SPELLINGS]
        for name, spellings in found.items()
    }


def _written(name: str, model: Moonshine, say: Say) -> dict[str, None]:
    spellings: dict[str, None] = {}
    for carrier in CARRIERS:
        for samples in say(carrier.format(name)):
            sound = np.pad(samples, _AROUND_SAMPLES)
            tokens, _ = model.free(model.begin(sound), len(sound) / RATE_HZ)
            text = re.sub(r"[^a-z' -]", "", model.tokenizer.text(tokens).lower())
            heard = _NAME.search(text)
            if heard and heard[1] != name and len(heard[1].split()) <= _MOST_WORDS:
                spellings[heard[1].strip(" -")] = None
    return spellings


def store(learnt: Mapping[str, tuple[str, ...]]) -> None:
    """Keep the spellings, each name in a file of its own; a full disk only forgets them."""
    for name, spellings in learnt.items():
        name_cache.write(_FOLDER, name, spellings)


def stored_spellings(name: str) -> tuple[str, ...] | None:
    """The spellings that were learnt of a name; None when it never was."""
    spellings = name_cache.read(_FOLDER, name)
    return None if spellings is None else tuple(spellings)


def with_spellings(grammar: Grammar) -> Grammar:
    """The grammar with the learnt spellings of the names for which the site gives none."""
    return replace(
        grammar,
        fillers={slot: tuple(map(_respelt, of)) for slot, of in grammar.fillers.items()},
    )


def _respelt(filler: Filler) -> Filler:
    if filler.respellings or not isinstance(filler.value, str):
        return filler
    return replace(filler, respellings=stored_spellings(filler.words) or ())
