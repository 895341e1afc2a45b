"""Typed words in place of sound: what may be said now is matched, what is said is silence."""

import re
from dataclasses import dataclass, replace
from random import Random

from assistant.audio.sound import BLOCK_S, Samples, silence
from assistant.brief.case import Case
from assistant.grammar.grammar import NEAR_ITS_DENIAL, SLOT, Grammar, Pattern
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.grammar.word_tree import WordTree
from assistant.hearing.ear import SOMEBODY_S, SPOKEN_OVER
from assistant.phrasebook.phrasebook import Phrasebook

WORD_S = 60 / 165
"""How long a spoken word lasts: voices speak 165 words a minute where nobody asks for more."""
ENDS_AFTER_S = 0.64
"""So much silence ends an utterance, as with the end-pointer."""
NOT_NOW = "not listened for now"
_MARKS = re.compile(r"[.,;:?!\"]")


def duration_s(text: str, word_s: float) -> float:
    """How long these words last, in s, when each lasts `word_s`; one block at least."""
    return max(BLOCK_S, len(text.split()) * word_s)


class SilentVoice:
    """A voice that only takes its time: silence as long as the words last."""

    def __init__(self, word_s: float = WORD_S) -> None:
        self._word_s = word_s

    def render(self, text: str) -> Samples:
        """Silence, shape (n,)."""
        return silence(duration_s(text, self._word_s))


class TypedPhrases:
    """The phrases of a site, looked up by their words; built once and shared by many cases."""

    def __init__(self, phrasebook: Phrasebook) -> None:
        self.phrasebook = phrasebook
        self._trees: dict[int, tuple[Grammar, WordTree]] = {}

    def read(self, grammar: Grammar, typed: str, *, sure: bool = True) -> Reading:
        """What an engine that hears perfectly makes of these words; ASK when not `sure`.

        Words that may not be said now are ignored, and not kept: free text never is.
        """
        words = _MARKS.sub(" ", typed.lower()).split()
        phrases = [one for one in self._tree(grammar).match(words) if one.pattern.for_me]
        if not phrases:
            return Reading("", "", why=NOT_NOW)
        best, meaning = phrases[0], phrases[0].pattern.meaning
        if sure and best.pattern.is_asked_back:
            return Reading(best.words, meaning, best.values, 1.0, Verdict.ASK, NEAR_ITS_DENIAL)
        if sure:
            return Reading(best.words, meaning, best.values, 1.0, Verdict.ACCEPT)
        return Reading(best.words, meaning, best.values, 0.5, Verdict.ASK, "typed as unsure")

    def may_be_said(self, case: Case) -> tuple[Pattern, ...]:
        """The patterns that are listened for in this case now; room talk is left out."""
        return tuple(one for one in self.phrasebook.now(case).patterns if one.for_me)

    def any_words(self, case: Case, random: Random) -> str:
        """One of the things that may be said now, its slots filled at random; "" if nothing may."""
        patterns = self.may_be_said(case)
        if not patterns:
            return ""
        fillers = self.phrasebook.now(case).fillers
        words = random.choice(patterns).words
        return SLOT.sub(lambda slot: random.choice(fillers[slot[1]]).words, words)

    def _tree(self, grammar: Grammar) -> WordTree:
        kept = self._trees.get(id(grammar))
        if kept is None:
            # The grammar is kept with its tree, so that no other can have its identity.
            kept = self._trees[id(grammar)] = (grammar, WordTree(grammar))
        return kept[1]


@dataclass(frozen=True, slots=True)
class _Saying:
    """Words that somebody says, and for how long."""

    typed: str
    sure: bool
    from_s: float
    to_s: float


class TypedEar:
    """Stands where the ear does; no sound is heard and no recogniser is asked.

    As with the ear, an utterance ends after some silence, and what is said while the microphone
    is shut is lost; what was said to its last word when it shuts is read, for what it counts then.
    """

    def __init__(self, phrases: TypedPhrases, word_s: float = WORD_S) -> None:
        self.fault = ""
        self._phrases = phrases
        self._word_s = word_s
        self._grammar = Grammar(())
        self._saying: _Saying | None = None
        self._at_s = 0.0

    @property
    def somebody_speaks(self) -> bool:
        """Whether words are being said, or may still go on."""
        return self._saying is not None and self._at_s >= self._saying.from_s

    @property
    def busy(self) -> bool:
        """Whether something is being said that has not been taken in yet."""
        return self._saying is not None

    def say(self, typed: str, at_s: float, *, sure: bool) -> None:
        """Somebody begins to say that at `at_s`."""
        self._saying = _Saying(typed, sure, at_s, at_s + duration_s(typed, self._word_s))

    def expect(self, grammar: Grammar) -> None:
        """From now on, only this may be said."""
        self._grammar = grammar

    def hear(self, block: Samples, at_s: float, *, muted: bool) -> Heard | None:  # noqa: ARG002
        """Let the block that begins at `at_s` pass; return what was typed once it has ended."""
        self._at_s = at_s
        saying = self._saying
        if saying is None or not (muted or at_s >= saying.to_s + ENDS_AFTER_S):
            return None
        self._saying = None
        if muted and at_s - saying.from_s < SOMEBODY_S:
            return None
        reading = Reading("", "", why=SPOKEN_OVER)
        if at_s >= saying.to_s:  # to its last word
            reading = self._phrases.read(
                self._grammar, saying.typed, sure=saying.sure and not muted
            )
        if muted:
            reading = replace(reading, why=SPOKEN_OVER)
        return Heard(saying.from_s, saying.to_s, reading)
