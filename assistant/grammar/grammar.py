"""What may be said now: the closed grammar that an engine listens for.

The hearing room never looks into a meaning; it only compares them, because two phrases of one
meaning do not compete with each other.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from types import MappingProxyType

Value = str | float
Values = Mapping[str, Value]

NOTHING: Values = MappingProxyType({})
SLOT = re.compile(r"\{(\w+)\}")

NEAR_ITS_DENIAL = "one soft sound from its denial"
"""Why an engine asks back what it would accept."""


class Danger(Enum):
    """How much harm a wrong acceptance does; it sets how sure the engine must be."""

    HIGH = "high"
    """A confirmation, or a command that is acted upon at once."""
    PLAIN = "plain"
    """A plain yes: it settles an item, and counts only where it can be nothing but an answer."""
    OPTION = "option"
    """A choice or a role: it settles an item at once, and is said back as noted."""
    ANSWERED = "answered"
    """A question with a drug or a number in it that may be answered without a read-back."""
    SETTING = "setting"
    """A number that is checked: the wanted one, of hundreds, settles an item at once; any other
    leaves it open, and one that is not clear is read back."""
    NUMBER = "number"
    """A number or a name that was asked for: whoever said it hears it before it counts."""
    READ_BACK = "read back"
    """A drug with a weight, at any time; read back as well."""
    USUAL = "usual"
    """A wrong acceptance costs a sentence, and there is much room talk to be taken for it."""
    LOW = "low"
    """A decline, at worst an item stays open that was done; and what does no more than ask back or
    be silent."""

    @property
    def settles_at_once(self) -> bool:
        """Whether nothing is asked any more once it was accepted: its denial must be far off."""
        return self in (Danger.HIGH, Danger.PLAIN, Danger.OPTION)


@dataclass(frozen=True, slots=True)
class Pattern:
    """One thing that may be said, lower case; `{slot}` stands for any filler of that slot."""

    words: str
    meaning: str
    values: Values = field(default_factory=lambda: NOTHING)
    danger: Danger = Danger.USUAL
    for_me: bool = True
    """False for a decoy: room talk that is spelt out so that it soaks up what resembles it."""
    respellings: tuple[str, ...] = ()
    """Other spellings an engine may write for the same sound; only of what has no slot."""
    only_yes: bool = False
    """It tells nothing of the item: people say it before they think ("yes … but not yet")."""
    is_longer: bool = False
    """An answer that is another pattern as well, in one word more: "um, yes"."""
    is_asked_back: bool = False
    """However surely it was heard: it would act at once, and is `NEAR_ITS_DENIAL`."""


@dataclass(frozen=True, slots=True)
class Filler:
    """One way to fill a slot."""

    words: str
    value: Value
    respellings: tuple[str, ...] = ()
    """Other spellings an engine may write for the same sound ("70", "rock uronium")."""
    bias_nats: float = 0.0
    """By how much an engine likes to hear it while others are said; counts against it."""


@dataclass(frozen=True, slots=True)
class Grammar:
    """All that may be said now."""

    patterns: tuple[Pattern, ...]
    fillers: Mapping[str, tuple[Filler, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for pattern in self.patterns:
            for slot in SLOT.findall(pattern.words):
                if not self.fillers.get(slot):
                    raise ValueError(f"the phrase {pattern.words!r} has no filler for {slot!r}")

    def sentences(self) -> Iterator[tuple[str, Pattern, Values]]:
        """Every whole phrase of the grammar with its pattern and all its values.

        Large when a pattern has several slots: engines that need all of it pay for all of it.
        """
        for pattern in self.patterns:
            yield from self._filled(pattern.words, pattern, pattern.values)

    def _filled(
        self, words: str, pattern: Pattern, values: Values
    ) -> Iterator[tuple[str, Pattern, Values]]:
        slot = SLOT.search(words)
        if slot is None:
            yield words, pattern, values
            return
        for filler in self.fillers[slot[1]]:
            filled = words[: slot.start()] + filler.words + words[slot.end() :]
            yield from self._filled(filled, pattern, {**values, slot[1]: filler.value})


def spoken_parts(grammar: Grammar) -> list[str]:
    """What an engine has to know: each pattern's words between its slots, and each filler."""
    parts = [part for pattern in grammar.patterns for part in SLOT.split(pattern.words)[::2]]
    parts += [filler.words for fillers in grammar.fillers.values() for filler in fillers]
    return list(dict.fromkeys(part.strip() for part in parts if part.strip()))
