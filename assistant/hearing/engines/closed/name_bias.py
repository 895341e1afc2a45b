"""How much the model favours a name, whatever was said.

"Fentanyl" fits the sound of most other drugs better than "dexmedetomidine" does, so in noise it is
heard in their place. What a name scores while others are said, above what is usual, is taken off
its score, in part. It is measured on a synthetic voice when a name is new, and kept by content.
"""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from statistics import fmean
from typing import Any

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.grammar.grammar import Filler, Grammar
from assistant.hearing.engines.closed import name_cache
from assistant.hearing.engines.closed.beam import PER_TOKEN
from assistant.hearing.engines.closed.moonshine import Moonshine

SHIPPED = Path(__file__).parent / "name_bias.json"
"""Of the example site's names, written by the hearing bench."""
SHARE = 0.75
"""So much of it is taken off. Weighed on the tuning voices."""
_BEFORE = "What is the dose of"
_FOLDER = "name-bias"
_AROUND_SAMPLES = RATE_HZ // 4


def measure(
    names: Sequence[Filler],
    others: Iterable[Filler],
    model: Moonshine,
    say: Callable[[str], Samples],
) -> Mapping[str, float]:
    """What each name scores while others are said, on average, in nats; below 0.

    0 would be as much as the name that is said. `say` is a voice, which asks for the dose of each
    of `others`; neither a name itself nor one that it begins, or that begins it, is evidence of it.
    """
    found: dict[str, list[float]] = {one.words: [] for one in names}
    for other in others:
        sound = np.pad(say(f"{_BEFORE} {other.words}?"), _AROUND_SAMPLES)
        score = _scores([other, *names], sound, model)
        for name in names:
            if not (other.words.startswith(name.words) or name.words.startswith(other.words)):
                found[name.words].append(score[name.words] - score[other.words])
    return {name: fmean(scores) for name, scores in found.items() if scores}


def _scores(names: Sequence[Filler], sound: Samples, model: Moonshine) -> Mapping[str, float]:
    """Of each name, its best spelling's log-probability after the words before it."""
    at = model.begin(sound)
    for token in model.tokenizer.sentence(_BEFORE):
        at = model.step(at, [0], [token])
    spelt = {
        (one.words, spelling): model.tokenizer.sentence(spelling)
        for one in names
        for spelling in (one.words, *one.respellings)
    }
    found: dict[str, float] = {}
    totals = model.forced(at, list(spelt.values()))
    for (name, _), tokens, total in zip(spelt, spelt.values(), totals, strict=True):
        fit = total + PER_TOKEN * len(tokens)
        found[name] = max(fit, found.get(name, fit))
    return found


def store(measured: Mapping[str, float], names: Iterable[Filler]) -> None:
    """Keep them, each name in a file of its own; a full disk only forgets them."""
    for name in names:
        if name.words in measured:
            name_cache.write(_FOLDER, key(name), measured[name.words])


def stored_bias(name: Filler) -> float | None:
    """What was measured of the name with its spellings; None when it never was."""
    found = _shipped()["names"].get(key(name))
    if found is None:
        found = name_cache.read(_FOLDER, key(name))
    return None if found is None else float(found)


def with_bias(grammar: Grammar) -> Grammar:
    """The grammar with what is to be taken off each name's score.

    Only off those that are favoured more than usual: the others gain by that. A name that was never
    measured passes for a usual one.
    """
    return replace(
        grammar, fillers={slot: tuple(map(_weighed, of)) for slot, of in grammar.fillers.items()}
    )


def _weighed(filler: Filler) -> Filler:
    measured = stored_bias(filler) if isinstance(filler.value, str) else None
    if measured is None:
        return filler
    above_usual = measured - float(_shipped()["usual_nats"])
    return replace(filler, bias_nats=max(0.0, SHARE * above_usual))


def key(name: Filler) -> str:
    """The name with all its spellings: with others it is favoured differently."""
    return "|".join((name.words, *name.respellings))


@cache
def _shipped() -> Mapping[str, Any]:
    written: Mapping[str, Any] = json.loads(SHIPPED.read_text(encoding="utf-8"))
    return written
