"""What the sounds alone say was said, of plain answers, of what acts at once and of short numbers;
and what speaks against it."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from heapq import nlargest
from itertools import chain

import numpy as np

from assistant.grammar.grammar import SLOT, Danger, Grammar, Pattern
from assistant.grammar.word_tree import Phrase
from assistant.hearing.engines.closed.negation import (
    AFTER_AN_ANSWER,
    BEFORE_AN_ANSWER,
    CONDITIONS,
    denials,
    opposites,
)
from assistant.hearing.engines.closed.sounds import paths
from assistant.hearing.engines.closed.sounds.alphabet import Sounds, sounds_of
from assistant.hearing.engines.closed.sounds.model import FRAME_S, Heard
from assistant.hearing.soundalikes import phonemes

MARGIN_NATS = 8.0
"""Further ahead of what means something else is as good as alone."""
TAKEN_BACK_NATS = 12.0
"""The same of the answer taken back, which differs by a few sounds."""
_BEFORE = tuple(
    dict.fromkeys(
        (
            *BEFORE_AN_ANSWER,
            *CONDITIONS,
            *("is he", "is she", "is that", "was it", "has it", "are they", "where is", "who has"),
            *("do we have", "have we got", "can we get", "did you say", "you mean", "what if"),
            *("have it", "get them", "put it", "keep it", "see if", "ask if", "wait until"),
            *("it's not", "we're not", "i'm not", "that isn't", "there's no", "not even", "nobody"),
            *("don't", "can't", "except", "half", "partly", "barely", "just about"),
        )
    )
)
_AFTER = (
    *AFTER_AN_ANSWER,
    *("i suppose", "i think", "i guess", "i hope", "maybe", "perhaps", "hopefully", "almost"),
    *("or is it", "isn't it", "or what", "except", "unless", "until", "when", "who", "where"),
    *("yet", "later", "shortly", "in a bit", "in a second"),
)
"""What people put before and after an answer to take it back, to ask or to order it: more than the
words are weighed against, as each is a row of sounds and costs next to nothing."""
_TROUBLE = (
    *("blocked", "broken", "stuck", "leaking", "kinked", "missing", "wrong", "loose", "torn"),
)
"""What people say of a thing that is not as it should be, in place of the last word of an answer of
few sounds: of "it's blocked" noise made an "it's on"."""
_FEW = 6
_SHORT_WORDS = 2
_ANSWERS_WEIGHED = 4
"""Of the likeliest answers so many are also weighed taken back: "fixed is it" of "fixed" is close
to "it is"."""


@dataclass(frozen=True, slots=True)
class SoundEvidence:
    """What the sounds tell of the best phrase of a kind; likelihoods and leads in nats."""

    words: str
    sounds: int
    """How many it has."""
    ratio: float
    """Per sound, relative to the likeliest sounds whatever they are: 0 is just what was heard."""
    margin: float
    """Ahead of the best phrase that means something else."""
    taken_back_margin: float
    """Ahead of what takes it back; of a plain answer also the next best ones."""
    more_nats: float
    """How much better it fits if more was said before it or after it."""
    early_s: float
    """From the beginning to its first sound."""
    late_s: float
    """From its last sound to the end."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """A phrase and what speaks for it."""

    phrase: Phrase
    evidence: SoundEvidence


@dataclass(frozen=True, slots=True)
class Opinions:
    """The best phrase of each kind; None where none of it may be said now."""

    answer: Opinion | None = None
    """A plain answer."""
    at_once: Opinion | None = None
    """What acts at once, of no less than some sounds (`_FEW`): fewer are like too much else."""
    number: Opinion | None = None
    """A number that is asked for, of a word or two: the model of sentences has little of a "sixty"
    by itself to go by."""


NO_OPINIONS = Opinions()


def figures(evidence: SoundEvidence) -> dict[str, float]:
    """What the verdict is weighed from, each bounded on the side of the hopeless."""
    return {
        "ratio": max(evidence.ratio, -3.0),
        "margin": float(np.clip(evidence.margin, -MARGIN_NATS, MARGIN_NATS)),
        "taken back margin": float(
            np.clip(evidence.taken_back_margin, -TAKEN_BACK_NATS, TAKEN_BACK_NATS)
        ),
        "more": min(evidence.more_nats, 6.0),
        "length": float(np.log(evidence.sounds)),
    }


class PhrasesBySound:
    """What may be said now, in sounds:

    - all fixed phrases, where there is one to have an opinion of, or a number is asked for;
    - the short ones of the numbers that are asked for;
    - the words of the numbers that are checked.

    Raises OSError when espeak-ng, which tells how they sound, is not there.
    """

    def __init__(self, grammar: Grammar) -> None:
        patterns = [one for one in grammar.patterns if not SLOT.search(one.words)]
        self._denials = {one.words: _denials(one.words) for one in patterns if _may_be_meant(one)}
        self._numbers = _numbers(grammar)
        apart = {word for said in chain(*self._denials.values()) for word in said.split()}
        apart |= {word for said in chain(*self._numbers.values()) for word in said.split()}
        asked_for = _short_numbers(grammar)
        apart |= {word for one in asked_for for word in one.words.split()}
        apart |= {word for said in self._denials for word in said.split()}
        around = (*_BEFORE, *_AFTER, *_TROUBLE)
        wanted = self._denials or asked_for
        whole = (*(one.words for one in patterns), *around) if wanted else ()
        told = phonemes((*whole, *apart)) if whole or apart else {}
        self._sounds: Mapping[str, Sounds] = {said: sounds_of(told[said]) for said in told}
        spoken = [one for one in patterns if self._sounds.get(one.words)]
        self._phrases = [Phrase(one, ()) for one in spoken]
        self._rows = [self._sounds[one.words] for one in spoken]
        self._known = frozenset(self._rows)
        self._asked_for = [one for one in asked_for if self._word_by_word(one.words)]
        self._asked_for_rows = [self._word_by_word(one.words) for one in self._asked_for]
        meant = [at for at, one in enumerate(spoken) if _may_be_meant(one)]
        self._answers = [at for at in meant if _is_plain(spoken[at])]
        self._at_once = [
            at for at in meant if not _is_plain(spoken[at]) and len(self._rows[at]) >= _FEW
        ]

    @property
    def has_phrases(self) -> bool:
        """Whether there is any phrase to have an opinion of."""
        return bool(self._answers or self._at_once or self._asked_for)

    @property
    def has_numbers(self) -> bool:
        """Whether a number that is checked may be said."""
        return bool(self._numbers)

    def opinions(self, heard: Heard) -> Opinions:
        """The best plain answer, the best of what acts at once, and the best short number."""
        totals = paths.best(heard, self._rows)
        answers = nlargest(_ANSWERS_WEIGHED, self._answers, key=totals.__getitem__)
        at_once = nlargest(1, self._at_once, key=totals.__getitem__)
        return Opinions(
            self._opinion(heard, totals, answers) if answers else None,
            self._opinion(heard, totals, at_once) if at_once else None,
            self._number(heard, totals) if self._asked_for else None,
        )

    def _opinion(self, heard: Heard, totals: paths.Floats, likeliest: Sequence[int]) -> Opinion:
        """Of the first of these, weighed against all of them taken back."""
        at = likeliest[0]
        phrase, row, total = self._phrases[at], self._rows[at], float(totals[at])
        others = [
            other
            for other, one in enumerate(self._phrases)
            if one.pattern.meaning != phrase.pattern.meaning
        ]
        back = [one for place in likeliest for one in self._around(self._phrases[place].words)]
        ahead_of = float(totals[others].max(initial=-np.inf))
        found = self._evidence(heard, phrase.words, row, total=total, ahead_of=ahead_of)
        taken_back = float(paths.best(heard, back).max())
        return Opinion(phrase, replace(found, taken_back_margin=total - taken_back))

    def _evidence(
        self, heard: Heard, words: str, row: Sounds, *, total: float, ahead_of: float
    ) -> SoundEvidence:
        """As far as nothing takes it back."""
        where = paths.place(heard, row)
        return SoundEvidence(
            words=words,
            sounds=len(row),
            ratio=(total - paths.anything(heard)) / len(row),
            margin=total - ahead_of,
            taken_back_margin=math.inf,
            more_nats=paths.gained_by_more(heard, row),
            early_s=where.first * FRAME_S,
            late_s=(len(heard) - 1 - where.last) * FRAME_S,
        )

    def _number(self, heard: Heard, of_phrases: paths.Floats) -> Opinion:
        """It is read back, so that another number close by does not speak against it."""
        totals = paths.best(heard, self._asked_for_rows)
        at = int(totals.argmax())
        return Opinion(
            self._asked_for[at],
            self._evidence(
                heard,
                self._asked_for[at].words,
                self._asked_for_rows[at],
                total=float(totals[at]),
                ahead_of=float(of_phrases.max(initial=-np.inf)),
            ),
        )

    def lead_over_other_numbers(self, heard: Heard, said: Phrase) -> float:
        """How far a phrase with a number that is checked is ahead of itself with any other, in
        nats."""
        ways = (
            said.words,
            *(one for one in self._numbers[said.pattern.words] if one != said.words),
        )
        own, *others = paths.best(heard, [self._word_by_word(way) for way in ways]).tolist()
        return float(own - max(others))

    def _around(self, words: str) -> Iterator[Sounds]:
        """The answer with what people put around it to take it back; none that is an answer too,
        as "not on" would be where a site takes that."""
        return (one for one in self._taken_back(words) if one not in self._known)

    def _taken_back(self, words: str) -> Iterator[Sounds]:
        own = self._sounds[words]
        yield from (self._sounds[before] + own for before in _BEFORE)
        yield from (own + self._sounds[after] for after in _AFTER)
        yield from map(self._word_by_word, self._denials[words])
        about, _, _ = words.rpartition(" ")
        if about and len(own) < _FEW:
            yield from (self._word_by_word(about) + self._sounds[one] for one in _TROUBLE)

    def _word_by_word(self, words: str) -> Sounds:
        return tuple(chain(*(self._sounds[word] for word in words.split())))


def _denials(words: str) -> tuple[str, ...]:
    """Also "it isn't on" and "it's off" of "it's on"."""
    spelt_out = words.replace("'s ", " is ")
    return tuple(dict.fromkeys((*denials(words), *opposites(words), *denials(spelt_out))))


def _numbers(grammar: Grammar) -> dict[str, list[str]]:
    """Each pattern with a number that is checked, with all that it may become."""
    found = {}
    for one in grammar.patterns:
        if one.danger is Danger.SETTING and (slot := SLOT.search(one.words)):
            fillers = grammar.fillers[slot[1]]
            found[one.words] = [SLOT.sub(filler.words, one.words) for filler in fillers]
    return found


def _short_numbers(grammar: Grammar) -> list[Phrase]:
    """Numbers that are asked for, by themselves and of no more words than `_SHORT_WORDS`."""
    return [
        Phrase(one, ((slot[1], filler),))
        for one in grammar.patterns
        if one.danger is Danger.NUMBER and (slot := SLOT.fullmatch(one.words))
        for filler in grammar.fillers[slot[1]]
        if len(filler.words.split()) <= _SHORT_WORDS
    ]


def _may_be_meant(pattern: Pattern) -> bool:
    return pattern.for_me and pattern.danger in (Danger.PLAIN, Danger.HIGH)


def _is_plain(pattern: Pattern) -> bool:
    return pattern.danger is Danger.PLAIN
