"""Plain answers as the model writes them: "tide" for "tied", "plato fine" for "plateau fine".

A plain answer is short, and there is nothing around it to tell the model which of two spellings of
a sound is meant. What it writes when voices say an answer, where that sounds like the answer and
less like anything else that may be said, counts as another spelling of it. Only of plain answers:
what is acted upon at once was fitted and measured without. The answer's denials are still weighed
against its own spelling.
"""

import json
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from functools import cache, lru_cache
from itertools import chain
from pathlib import Path

from assistant.audio.sound import RATE_HZ, Samples
from assistant.files.cache import cached, keep_more, kept
from assistant.grammar.grammar import SLOT, Danger, Grammar, Pattern
from assistant.hearing.engines.closed.moonshine import Moonshine
from assistant.hearing.engines.closed.name_cache import model_version
from assistant.hearing.engines.closed.negation import (
    denials,
    doubts_after,
    doubts_before,
    is_another_form,
)
from assistant.hearing.soundalikes import phonemes, unlikeness
from assistant.language.denials import denied_in

SHIPPED = Path(__file__).parent / "answer_spellings.json"
"""Of the example sites' answers, written by the hearing bench."""
_ALIKE_BELOW = 0.12
"""Of the sounds of the longer. With more, "about ninety five" would be "above ninety five", and
"it's bad" be "it's back"."""
_FAILING = frozenset(("fail", "fails", "failed", "bad"))
"""A spelling with one of these that the answer has not, or with a word that denies, is no spelling
of it, whatever it sounds like: "extended and failed" of "extended and felt"."""
_MOST_SPELLINGS = 5
_UNSPOKEN = re.compile(r"[^a-z0-9' ]+")

Spellings = Mapping[str, tuple[str, ...]]
Say = Callable[[str], Iterable[Samples]]
"""The text by one voice after another."""


def answers(grammar: Grammar) -> list[str]:
    """The plain answers of a grammar that can be spelt otherwise."""
    return [one.words for one in grammar.patterns if _is_answer(one)]


def learn(wanted: Collection[str], grammar: Grammar, model: Moonshine, say: Say) -> Spellings:
    """What the model writes for each of these answers, what sounds most like it first.

    Nothing that sounds as much like another phrase of the grammar, or like the answer denied or in
    doubt, nothing with a word of its own that denies, and no other form of the answer's verb.
    Raises OSError when espeak-ng, which tells the sounds, is not there.
    """
    written = {answer: _written(answer, model, say) for answer in wanted}
    phrases = {one.words for one in grammar.patterns if not SLOT.search(one.words)}
    against = {answer: {*phrases, *_taken_back(answer)} - {answer} for answer in wanted}
    spelt = (one for found in written.values() for one in found)
    sounds = phonemes(dict.fromkeys((*wanted, *spelt, *chain(*against.values()))))

    def away(spelling: str, phrase: str) -> float:
        return unlikeness(sounds[spelling], sounds[phrase])

    def is_like(spelling: str, answer: str) -> bool:
        own = away(spelling, answer)
        return own < _ALIKE_BELOW and all(own < away(spelling, one) for one in against[answer])

    found: dict[str, tuple[str, ...]] = {}
    for answer, spellings in written.items():
        alike = [one for one in spellings if is_like(one, answer) and not _differs(one, answer)]
        alike.sort(key=lambda one: away(one, answer))
        found[answer] = tuple(alike[:_MOST_SPELLINGS])
    return found


def store(learnt: Spellings) -> None:
    """Keep them beside those of before; a full disk only forgets them."""
    keep_more(_kept_in(), learnt)
    _learnt.cache_clear()


def stored() -> Spellings:
    """All that was learnt, by the answers, also those that are spelt in no other way."""
    return {**_learnt(_kept_in()), **_shipped()}


def unlearnt(grammar: Grammar) -> list[str]:
    """The plain answers of a grammar of which nobody knows yet how else they are written."""
    known = stored()
    return [one for one in answers(grammar) if one not in known]


def with_answer_spellings(grammar: Grammar) -> Grammar:
    """The grammar with what was learnt of its plain answers, but for what it has as a phrase."""
    known, phrases = stored(), {one.words for one in grammar.patterns}

    def respelt(pattern: Pattern) -> Pattern:
        spellings = known.get(pattern.words, ()) if _is_answer(pattern) else ()
        others = tuple(one for one in spellings if one not in phrases)
        return replace(pattern, respellings=others) if others else pattern

    return replace(grammar, patterns=tuple(map(respelt, grammar.patterns)))


def _is_answer(pattern: Pattern) -> bool:
    plain = pattern.danger is Danger.PLAIN and pattern.for_me
    return plain and not SLOT.search(pattern.words)


def _taken_back(answer: str) -> list[str]:
    return [*denials(answer), *doubts_before(answer), *doubts_after(answer)]


def _differs(spelling: str, answer: str) -> bool:
    """Whether it says something else by its words: a denial, or another form of a verb in the
    answer, and so may be yet to be done: "drawing up" of "drawn up", "test it" of "tested"."""
    said = answer.split()
    others = set(spelling.split()) - set(said)
    other_form = any(is_another_form(one, word) for one in others for word in said)
    denied = any(denied_in(one, "en") for one in others)  # the model writes English only
    return other_form or denied or not _FAILING.isdisjoint(others)


def _written(answer: str, model: Moonshine, say: Say) -> dict[str, None]:
    """What the model writes without being told what may be said, in the order of the voices."""
    found: dict[str, None] = {}
    for sound in say(f"{answer[:1].upper()}{answer[1:]}."):
        tokens, _ = model.free(model.begin(sound), len(sound) / RATE_HZ)
        text = " ".join(_UNSPOKEN.sub(" ", model.tokenizer.text(tokens).lower()).split())
        if text and text != answer:
            found[text] = None
    return found


@cache
def _shipped() -> Spellings:
    written = json.loads(SHIPPED.read_text(encoding="utf-8"))["answers"]
    return {answer: tuple(spellings) for answer, spellings in written.items()}


def _kept_in() -> Path:
    return cached(f"answer-spellings-{model_version()}.json")


@lru_cache(maxsize=2)
def _learnt(path: Path) -> Spellings:
    """What was learnt on this machine."""
    return {
        answer: tuple(spellings)
        for answer, spellings in kept(path).items()
        if isinstance(spellings, list)
    }
