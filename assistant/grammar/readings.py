"""What an engine makes of one utterance."""

from dataclasses import dataclass, field
from enum import Enum
from typing import Protocol

from assistant.audio.sound import Samples
from assistant.grammar.grammar import NOTHING, Grammar, Values

NOT_FOR_ME = "not for me"
"""Why talk of the room is ignored that was understood as that."""


class Verdict(Enum):
    """What may be done with what was heard."""

    ACCEPT = "accept"
    ASK = "ask"
    """Probably this, not surely: ask back."""
    IGNORE = "ignore"
    """Not for me, or nothing of the grammar."""


@dataclass(frozen=True, slots=True)
class Reading:
    """The best phrase of the grammar for an utterance, and how far it may be trusted.

    When the verdict is IGNORE the text is still the best phrase of the grammar, for the record
    only; free text is never kept.
    """

    text: str
    meaning: str
    values: Values = field(default_factory=lambda: NOTHING)
    confidence: float = 0.0
    """0 … 1; comparable within one engine only."""
    verdict: Verdict = Verdict.IGNORE
    why: str = ""
    """Why it was not accepted; empty when it was."""
    runner_up: Values | None = None
    """The values of the best other phrase of the same meaning, when it is hardly behind: closer
    than the engine's strict margin for numbers that are misheard for one another. Else None."""


@dataclass(frozen=True, slots=True)
class Heard:
    """One utterance of the room, end-pointed and read."""

    started_s: float
    ended_s: float
    """On the case's clock: first and last voiced sample."""
    reading: Reading
    level_dbfs: float | None = None
    """How loud the voice was, its silences left out; None where nothing measured it."""
    noise_dbfs: float | None = None
    """How loud the room was meanwhile."""
    samples: Samples | None = field(default=None, compare=False, repr=False)
    """Its sound, for whoever may keep it."""
    cut_start: bool = False
    """The voice was there when listening began: somebody answered before the question's end."""
    early_start: bool = False
    """It began so soon after listening did that a word may have gone before it."""


class Engine(Protocol):
    """A recogniser: it reads one utterance against what may be said now."""

    name: str

    def listen_for(self, grammar: Grammar) -> None:
        """From now on, only this may be said."""

    def read(self, samples: Samples) -> Reading:
        """Read one whole utterance."""

    def missing_words(self, grammar: Grammar) -> tuple[str, ...]:
        """The words of the grammar that this recogniser cannot hear as words, in their order."""
