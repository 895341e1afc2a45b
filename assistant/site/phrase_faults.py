"""What is wrong with a site's phrases as a whole, each told at its place in the site's files."""

from collections.abc import Iterator

from assistant.brief.decisions import SiteDecisions
from assistant.files.faults import Fault
from assistant.files.plain_yaml import Loc
from assistant.phrasebook.double_meanings import DoubleMeaning, double_meanings
from assistant.phrasebook.near_pairs import near_pairs, short_confirmations
from assistant.site.phrase_places import (
    BRIEF,
    WORDING,
    Place,
    phrase_places,
)


def phrase_faults(site: SiteDecisions) -> Iterator[tuple[str, Fault]]:
    """Phrases with two meanings, pairs that sound alike, yeses too short to be told from talk, and
    words that are not said anyway.

    Where espeak-ng cannot be asked, only the first and the last are looked for.
    """
    places = list(phrase_places(site))
    yield from _not_said_anyway(site)
    for double in double_meanings(site):
        yield _two_meanings(double, places)
    try:
        for pair in near_pairs(site):
            one, other = sorted((pair.one, pair.other), key=lambda one: one.meaning != "confirm")
            file, loc = _place(one.words, one.meaning, places)
            found = (
                f"{one.words!r}, which sounds like {other.words!r} "
                f"({other.meaning.replace('_', ' ')}; {pair.differ:.0%} of their sounds differ)"
            )
            yield file, Fault(loc, found, "phrases that the ear can keep apart")
        for words in short_confirmations(site):
            file, loc = _place(words, "confirm", places)
            found = f"{words!r}, too short to be told from talk at any time"
            allowed = "two words and more, such as what was done; or the phrase as a plain answer"
            yield file, Fault(loc, found, allowed)
    except OSError:  # `check` says that it could not be asked
        return


def _not_said_anyway(site: SiteDecisions) -> Iterator[tuple[str, Fault]]:
    """What an item is not to hear, and would not hear anyway: most likely a slip."""
    back = site.wording.may_be_said.back
    for loc, _, item in site.brief.placed():
        for at, words in enumerate(item.back_unheard):
            if words not in back:
                allowed = f"words of may_be_said.back: {', '.join(back)}"
                yield BRIEF, Fault((*loc, "not_heard", at), repr(words), allowed)


def _two_meanings(double: DoubleMeaning, places: list[Place]) -> tuple[str, Fault]:
    item = None if double.item is None else double.item.id
    asked = "" if item is None else f" of {item}"
    file, loc = _place(double.other_phrase, double.other.meaning, places, item)
    found = (
        f"{double.said!r}, which while {double.state.value}{asked} means both "
        f"{str(double.one)!r} and {str(double.other)!r}"
    )
    return file, Fault(loc, found, "one meaning for a phrase")


def _place(
    words: str, meaning: str, places: list[Place], item: str | None = None
) -> tuple[str, Loc]:
    """Where a phrase stands: in the item that is asked, if it has it, or else anywhere.

    Also with another meaning: a yes of the wording is a bare yes where a telling one is wanted.
    """
    said = [one for one in places if one.words == words]
    found = [one for one in said if one.meaning == meaning] or said
    own = [one for one in found if one.item == item] or found
    if own:
        return own[0].file, own[0].loc
    # One that a unit was filled into stands in no list as it is told.
    lists = [one for one in places if one.meaning == meaning]
    return (lists[-1].file, lists[-1].loc[:-1]) if lists else (WORDING, ("may_be_said",))
