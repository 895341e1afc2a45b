"""What is wrong with a site's phrases as a whole, each told at its place in the site's files."""

from collections.abc import Iterator
from pathlib import Path

from assistant.brief.decisions import SiteDecisions
from assistant.errors import BadInput
from assistant.files.yaml_files import line_in
from assistant.phrasebook.double_meanings import DoubleMeaning, double_meanings
from assistant.phrasebook.near_pairs import near_pairs, short_confirmations

Loc = tuple[int | str, ...]
BRIEF, WORDING = "brief.yaml", "wording.yaml"


def phrase_faults(folder: Path, site: SiteDecisions) -> Iterator[BadInput]:
    """Phrases with two meanings, pairs that sound alike, yeses too short to be told from talk, and
    words that are not said anyway.

    Where espeak-ng cannot be asked, only the first and the last are looked for.
    """
    places = list(_places(site))
    yield from _not_said_anyway(folder, site)
    for double in double_meanings(site):
        yield _two_meanings(folder, double, places)
    try:
        for pair in near_pairs(site):
            one, other = sorted((pair.one, pair.other), key=lambda one: one.meaning != "confirm")
            yield _complaint(
                folder,
                _place(one.words, one.meaning, places),
                f"{one.words!r}, which sounds like {other.words!r} "
                f"({other.meaning.replace('_', ' ')}; {pair.differ:.0%} of their sounds differ)",
                "phrases that the ear can keep apart",
            )
        for words in short_confirmations(site):
            yield _complaint(
                folder,
                _place(words, "confirm", places),
                f"{words!r}, too short to be told from talk at any time",
                "two words and more, such as what was done; or the phrase as a plain answer",
            )
    except OSError:  # `check` says that it could not be asked
        return


def _not_said_anyway(folder: Path, site: SiteDecisions) -> Iterator[BadInput]:
    """What an item is not to hear, and would not hear anyway: most likely a slip."""
    back = site.wording.may_be_said.back
    for section_at, section in enumerate(site.brief.sections):
        for item_at, item in enumerate(section.items):
            loc: Loc = ("sections", section_at, "items", item_at, "not_heard")
            for at, words in enumerate(item.back_unheard):
                if words not in back:
                    allowed = f"words of may_be_said.back: {', '.join(back)}"
                    yield _complaint(folder, (BRIEF, (*loc, at)), repr(words), allowed)


def _two_meanings(folder: Path, double: DoubleMeaning, places: list["_Place"]) -> BadInput:
    item = None if double.item is None else double.item.id
    asked = "" if item is None else f" of {item}"
    return _complaint(
        folder,
        _place(double.other_phrase, double.other.meaning, places, item),
        f"{double.said!r}, which while {double.state.value}{asked} means both "
        f"{str(double.one)!r} and {str(double.other)!r}",
        "one meaning for a phrase",
    )


_Place = tuple[str, Loc, str, str, str | None]
"""File, place in it, words, meaning, item."""


def _complaint(folder: Path, place: tuple[str, Loc], found: str, allowed: str) -> BadInput:
    path = folder / place[0]
    key = ".".join(str(step) for step in place[1]) or None
    line = line_in(path, *place[1]) if path.is_file() else None
    return BadInput.in_file(path, line=line, key=key, found=found, allowed=allowed)


def _place(
    words: str, meaning: str, places: list[_Place], item: str | None = None
) -> tuple[str, Loc]:
    """Where a phrase stands: in the item that is asked, if it has it, or else anywhere."""
    found = [one for one in places if one[2] == words and one[3] == meaning]
    own = [one for one in found if one[4] == item] or found
    return own[0][:2] if own else (WORDING, ("may_be_said", meaning))


def _places(site: SiteDecisions) -> Iterator[_Place]:
    """The items' own first: what a site adds is what it should change."""
    for section_at, section in enumerate(site.brief.sections):
        for item_at, item in enumerate(section.items):
            loc: Loc = ("sections", section_at, "items", item_at)
            own = (
                ("confirmations", "confirm", item.telling_answers),
                ("plain_answers", "plain_yes", item.told_plainly),
                ("does_not_apply", "not_applicable", item.own_exceptions),
                ("not_yet", "decline", item.not_yet),
            )
            for key, meaning, phrases in own:
                for at, words in enumerate(phrases):
                    yield BRIEF, (*loc, key, at), words, meaning, item.id
            for option_at, option in enumerate(getattr(item, "options", ())):
                for at, words in enumerate(option.said):
                    yield BRIEF, (*loc, "options", option_at, "said", at), words, "choose", item.id
    for role_at, role in enumerate(site.brief.roster):
        for at, words in enumerate(role.said):
            yield BRIEF, ("roster", role_at, "said", at), words, "name", None
    for meaning in type(site.wording.may_be_said).model_fields:
        for at, words in enumerate(getattr(site.wording.may_be_said, meaning)):
            yield WORDING, ("may_be_said", meaning, at), words, meaning, None
