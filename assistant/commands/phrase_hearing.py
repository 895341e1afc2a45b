"""How a site's own answers are heard: each rendered by two voices, in quiet and in noise."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.audio.noise import in_pink_noise
from assistant.grammar.grammar import SLOT, Pattern
from assistant.grammar.readings import Engine, Reading, Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.phrasebook.sheet import grammar_of
from assistant.site.site import Site
from assistant.speaking.voices import Voice

NOISE_DB = 10.0
"""So far below the voice the noise lies, where there is any."""
OUTCOMES = TAKEN, ASKED_BACK, CONFUSED, UNHEARD = "taken", "asked back", "confused", "not heard"


@dataclass(frozen=True, slots=True)
class PhraseHeard:
    """One phrase by one voice, and what was made of it."""

    item: str
    words: str
    voice: str
    noisy: bool
    outcome: str
    """One of the four above."""
    heard_as: str
    """What a confused one was taken for; else empty."""


def hear_phrases(site: Site, engine: Engine, voices: dict[str, Voice]) -> Iterator[PhraseHeard]:
    """Every answer of every item without a number in it, by each voice, in quiet and in noise.

    What answers several items is heard at the first of them only.
    """
    book = Phrasebook(site)
    done: set[tuple[str, str]] = set()
    for item in site.brief.items():
        grammar = grammar_of(site, book, item)
        own = {"confirm", *item.answered_by} - {"bare_yes", "decline", "number"}
        patterns = [
            one
            for one in grammar.patterns
            if one.for_me
            and one.meaning in own
            and not SLOT.search(one.words)
            and (one.words, one.meaning) not in done
        ]
        done |= {(one.words, one.meaning) for one in patterns}
        for pattern in patterns:
            for name, voice in voices.items():
                sound = voice.render(f"{pattern.words}.")
                for noisy in (False, True):
                    ear = Ear(engine)
                    ear.expect(grammar)
                    heard = hear_file(ear, in_pink_noise(sound, NOISE_DB) if noisy else sound)
                    readings = [one.reading for one in heard]
                    outcome, heard_as = _outcome(pattern, readings)
                    yield PhraseHeard(item.id, pattern.words, name, noisy, outcome, heard_as)


def told(one: PhraseHeard) -> str:
    """A line for a phrase that was not taken; empty for one that was."""
    if one.outcome == TAKEN:
        return ""
    heard_as = f" with {one.heard_as!r}" if one.heard_as else ""
    where = f"{NOISE_DB:.0f} dB above noise" if one.noisy else "in quiet"
    return f"{one.item}: {one.words!r} by {one.voice}, {where}: {one.outcome}{heard_as}"


def outcomes(found: list[PhraseHeard]) -> Iterator[str]:
    """How many of each outcome, in quiet and in noise, as lines."""
    for noisy in (False, True):
        counts = Counter(one.outcome for one in found if one.noisy is noisy)
        where = f"At {NOISE_DB:.0f} dB" if noisy else "In quiet"
        each = ", ".join(f"{counts[one]} {one}" for one in OUTCOMES)
        yield f"{where}, of {counts.total()} answers: {each}"


def _outcome(pattern: Pattern, readings: list[Reading]) -> tuple[str, str]:
    for reading in readings:
        same = (reading.meaning, reading.values) == (pattern.meaning, pattern.values)
        yes = {reading.meaning, pattern.meaning} <= {"confirm", "plain_yes"}
        if reading.verdict is Verdict.ACCEPT:
            return (TAKEN, "") if same or yes else (CONFUSED, reading.text)
        if reading.verdict is Verdict.ASK:
            return ASKED_BACK, ""
    return UNHEARD, ""
