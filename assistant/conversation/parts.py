"""What a conversation is put together from."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from assistant.audio.sound import Samples
from assistant.clock import Clock
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Heard
from assistant.journal.journal import Journal
from assistant.journal.rows import Row
from assistant.journal.sound_keeper import SoundKeeper
from assistant.speaking.voices import Voice


class AnyEar(Protocol):
    """Makes utterances of the microphone's sound: an `Ear`, or what stands in for one in text."""

    @property
    def fault(self) -> str:
        """Why nothing is understood; empty when all is well."""

    @property
    def somebody_speaks(self) -> bool:
        """Whether there is a voice in the room that has not ended, as far as is heard."""

    def expect(self, grammar: Grammar) -> None:
        """From now on, only this may be said."""

    def hear(self, block: Samples, at_s: float, *, muted: bool) -> Heard | None:
        """Take the block of 512 samples that begins at `at_s`; return an utterance that ended."""


@dataclass(frozen=True, slots=True)
class Parts:
    """What a conversation works with."""

    clock: Clock
    ear: AnyEar
    voice: Voice
    journal: Journal
    sounds: SoundKeeper | None = None
    """Where a site keeps the sound of what was said to the assistant."""


@dataclass(frozen=True, slots=True)
class ResumedCase:
    """A case that was cut short and goes on."""

    past: Sequence[Row]
    """What is on record of it."""
    rebooted: bool
    """The machine was started anew meanwhile: nobody knows how long its clocks have run."""
    away_s: float | None
    """For how long nobody listened; None where no clock that can be trusted tells."""


@dataclass(frozen=True, slots=True)
class SoundPath:
    """How the assistant's own voice comes back into its microphone."""

    tail_s: float | None = None
    """For so long after its own last sample nothing is heard; None: the site's own time."""
    may_interrupt: bool = False
    """Something cancels the echo, so that people are heard also while it speaks."""
