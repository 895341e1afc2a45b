"""The verdict on an utterance: by its words, else by its sounds.

The engine judges what it hears by this, and the bench what it has recorded.
"""

from dataclasses import dataclass
from enum import Enum

from assistant.grammar.grammar import NEAR_ITS_DENIAL, Danger
from assistant.grammar.readings import NOT_FOR_ME, Verdict
from assistant.hearing.engines.closed.evidence import Evidence
from assistant.hearing.engines.closed.sounds.opinion import SoundEvidence
from assistant.hearing.engines.closed.sounds.verdict import is_asked_back
from assistant.hearing.engines.closed.verdicts import (
    Fitted,
    by_sounds,
    is_number_by_sounds,
    judge,
)

_BY_SOUNDS_ALONE = "by its sounds alone"


class Told(Enum):
    """What told what was said."""

    BY_WORDS = "its words"
    ANSWER = "the sounds of a plain answer"
    NUMBER = "the sounds of a number"
    AT_ONCE = "the sounds of what acts at once"


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What was found of one utterance, unjudged."""

    words: Evidence
    danger: Danger
    """This and the next three are of the phrase that fits the words best."""
    for_me: bool
    rival: str
    """The best phrase that means something else; empty without one."""
    is_asked_back: bool = False
    """It sounds like its denial, and is never taken at once."""
    answer: SoundEvidence | None = None
    """Of the best plain answer by its sounds; this and the next ones None where there is none."""
    number: SoundEvidence | None = None
    """Of the best short number by its sounds, where one is asked for."""
    number_agrees: bool = False
    """It is the number that fits the words best."""
    at_once: SoundEvidence | None = None
    """Of the best phrase by its sounds that acts at once."""


def verdict_on(by: Fitted, found: Found) -> tuple[Verdict, str, Told]:
    """The verdict, in a few words why it is not ACCEPT, and what told it."""
    verdict, why = verdict_by_words(by, found)
    sounded = by_sounds(by, verdict, found.words, danger=found.danger, heard=found.answer)
    if sounded is not None:
        return (*sounded, Told.ANSWER)
    heard, agrees = found.number, found.number_agrees
    if is_number_by_sounds(by, verdict, danger=found.danger, heard=heard, agrees=agrees):
        return Verdict.ASK, _BY_SOUNDS_ALONE, Told.NUMBER
    at_once = found.at_once
    if verdict is Verdict.IGNORE and at_once is not None and is_asked_back(by.sound_leads, at_once):
        return Verdict.ASK, _BY_SOUNDS_ALONE, Told.AT_ONCE
    return verdict, why, Told.BY_WORDS


def verdict_by_words(by: Fitted, found: Found) -> tuple[Verdict, str]:
    """The same by the words alone."""
    verdict, why = judge(by, found.words, danger=found.danger, rival=found.rival)
    if not found.for_me and verdict is not Verdict.IGNORE:
        return Verdict.IGNORE, NOT_FOR_ME
    if verdict is Verdict.ACCEPT and found.is_asked_back:
        return Verdict.ASK, NEAR_ITS_DENIAL
    return verdict, why
