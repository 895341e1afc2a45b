"""How a site's own phrases are heard: each rendered by two voices, in quiet and in noise."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from assistant.audio.noise import in_pink_noise
from assistant.brief.states import STATES, State
from assistant.grammar.grammar import SLOT, Grammar, Pattern
from assistant.grammar.readings import Engine, Reading, Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site
from assistant.speaking.voices import Voice

NOISE_DB = 10.0
"""So far below the voice the noise lies, where there is any."""
OUTCOMES = TAKEN, ASKED_BACK, CONFUSED, UNHEARD = "taken", "asked back", "confused", "not heard"


@dataclass(frozen=True, slots=True)
class PhraseHeard:
    """One phrase by one voice, and what was made of it."""

    place: str
    """The item that it answers, or where else in a case it is said."""
    words: str
    voice: str
    noisy: bool
    outcome: str
    """One of the four above."""
    heard_as: str
    """What a confused one was taken for; else empty."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a case something is said."""

    name: str
    grammar: Grammar
    """All that may be said there."""
    meanings: Collection[str]
    """Those of it that are heard there; the others have a place of their own."""


def places(site: Site) -> Iterator[Place]:
    """At each item its answers; then all else, while an item is asked and wherever else it is
    listened for; and what opens a case."""
    book = Phrasebook(site)
    items = list(site.brief.items())
    for item in items:
        own = {"confirm", *item.answered_by} - {"bare_yes", "decline", "number"}
        yield Place(item.id, book.heard_in(State.ASKING, item), own)
    for state in (State.ASKING, *STATES):
        besides = set(STATES[state].hears) - {"bare_yes", "plain_yes", "confirm"}
        yield Place(f"while {state.value}", book.heard_in(state, items[0]), besides)
    yield Place("between cases", book.between_cases(), {"new_case"})


def hear_phrases(
    among: Iterable[Place], engine: Engine, voices: dict[str, Voice]
) -> Iterator[PhraseHeard]:
    """Every phrase of these places without a number or name in it, by each voice, in quiet and in
    noise; what is said in several of them, in the first only.
    """
    done: set[tuple[str, str]] = set()
    for place in among:
        patterns = [
            one
            for one in place.grammar.patterns
            if one.for_me
            and not one.is_longer
            and one.meaning in place.meanings
            and not SLOT.search(one.words)
            and (one.words, one.meaning) not in done
        ]
        done |= {(one.words, one.meaning) for one in patterns}
        for pattern in patterns:
            for name, voice in voices.items():
                sound = voice.render(f"{pattern.words}.")
                for noisy in (False, True):
                    ear = Ear(engine)
                    ear.expect(place.grammar)
                    heard = hear_file(ear, in_pink_noise(sound, NOISE_DB) if noisy else sound)
                    readings = [one.reading for one in heard]
                    outcome, heard_as = _outcome(pattern, readings)
                    yield PhraseHeard(place.name, pattern.words, name, noisy, outcome, heard_as)


def told(one: PhraseHeard) -> str:
    """A line for a phrase that was not taken; empty for one that was."""
    if one.outcome == TAKEN:
        return ""
    heard_as = f" with {one.heard_as!r}" if one.heard_as else ""
    where = f"{NOISE_DB:.0f} dB above noise" if one.noisy else "in quiet"
    return f"{one.place}: {one.words!r} by {one.voice}, {where}: {one.outcome}{heard_as}"


def outcomes(found: list[PhraseHeard]) -> Iterator[str]:
    """How many of each outcome, in quiet and in noise, as lines."""
    for noisy in (False, True):
        counts = Counter(one.outcome for one in found if one.noisy is noisy)
        where = f"At {NOISE_DB:.0f} dB" if noisy else "In quiet"
        each = ", ".join(f"{counts[one]} {one}" for one in OUTCOMES)
        yield f"{where}, of {counts.total()} phrases: {each}"


def _outcome(pattern: Pattern, readings: list[Reading]) -> tuple[str, str]:
    for reading in readings:
        same = (reading.meaning, reading.values) == (pattern.meaning, pattern.values)
        yes = {reading.meaning, pattern.meaning} <= {"confirm", "plain_yes"}
        if reading.verdict is Verdict.ACCEPT:
            return (TAKEN, "") if same or yes else (CONFUSED, reading.text)
        if reading.verdict is Verdict.ASK:
            return ASKED_BACK, ""
    return UNHEARD, ""
