"""Phrases that the ear cannot keep apart where both may be said, and yeses that are too short."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.brief.decisions import SiteDecisions
from assistant.brief.states import DIGITS, STATES
from assistant.grammar.grammar import SLOT, Grammar, Pattern
from assistant.hearing.soundalikes import ALIKE_BELOW, Alike, alike, phonemes, plain_sounds
from assistant.phrasebook.phrasebook import Phrasebook

TOO_ALIKE_BELOW = 0.15
"""Of the sounds of the longer phrase: nobody tells such a pair apart in a loud room."""
SETTLES_TOO_ALIKE_BELOW = 0.25
"""The same where one of the two settles something at once. "Correct" and "incorrect" differ by
0.25; the one is a plain yes, which counts only as an answer, and the engine weighs its denial."""
LEAST_SOUNDS = 9
"""Of a confirmation, which counts at any time: "yes correct" has nine, "confirmed" seven."""
_KIN = {"confirm", "plain_yes", "bare_yes"}
"""Sound alike as they should: the one is told how to become the other."""


@dataclass(frozen=True, slots=True)
class NearPair:
    """Two phrases of different meanings that may be said in one state and sound alike."""

    one: Pattern
    other: Pattern
    differ: float
    """Share of their sounds, 0 … 1."""


def near_pairs(site: SiteDecisions) -> Iterator[NearPair]:
    """The pairs that are too close, worst first.

    Raises OSError when espeak-ng, which tells how phrases are pronounced, cannot be asked.
    """
    book = Phrasebook(site)
    together = []
    for state, row in STATES.items():
        digits = DIGITS in row.hears
        items = [item for item in site.brief.items() if book.answers(state, item)]
        together += [_literal(book.patterns(state, one, digits=digits)) for one in (None, *items)]
    every = {words: pattern for phrases in together for words, pattern in phrases.items()}
    sounds = phonemes(every, site.wording.phonetic_voice)
    for pair in alike([(words, words) for words in every], sounds):
        for phrases in together:
            if pair.one in phrases and pair.other in phrases:
                found = NearPair(phrases[pair.one], phrases[pair.other], pair.differ)
                if _too_close(found):
                    yield found
                    break


def short_confirmations(site: SiteDecisions) -> Iterator[str]:
    """The confirmations that are too short to be told from room talk at any time.

    Raises OSError like `near_pairs`.
    """
    phrases = dict.fromkeys(site.wording.may_be_said.confirm)
    for item in site.brief.items():
        phrases |= dict.fromkeys(item.telling_answers)
    sounds = phonemes(phrases, site.wording.phonetic_voice)
    for words in phrases:
        if len(plain_sounds(sounds[words])) < LEAST_SOUNDS:
            yield words


def alike_in(grammar: Grammar, voice: str) -> Iterator[Alike]:
    """The pairs that sound alike and mean different things, wherever they may be said, worst first.

    Names of two drugs are none: a site with such a pair is refused unless they are asked apart.
    Raises OSError like `near_pairs`.
    """
    said = [one for one in grammar.patterns if one.for_me]
    meanings = {
        words: one.meaning if not one.values else f"{dict(one.values)}"
        for words, one in _literal(said).items()
    }
    drugs = {filler.words: f"drug {filler.value}" for filler in grammar.fillers.get("drug", ())}
    spoken = meanings | drugs
    for pair in alike(list(spoken.items()), phonemes(spoken, voice)):
        are_kin = {spoken[pair.one], spoken[pair.other]} <= _KIN
        if not are_kin and not {pair.one, pair.other} <= drugs.keys():
            yield pair


def _literal(patterns: Iterable[Pattern]) -> dict[str, Pattern]:
    """Those without a slot, by their words."""
    return {one.words: one for one in patterns if not SLOT.search(one.words)}


def _too_close(pair: NearPair) -> bool:
    one, other = pair.one, pair.other
    if (one.meaning, one.values) == (other.meaning, other.values):
        return False
    meanings = {one.meaning, other.meaning}
    if meanings <= _KIN:
        return False
    if meanings == {"confirm", "decline"}:
        return pair.differ < ALIKE_BELOW
    settles = one.danger.settles_at_once or other.danger.settles_at_once
    return pair.differ < (SETTLES_TOO_ALIKE_BELOW if settles else TOO_ALIKE_BELOW)
