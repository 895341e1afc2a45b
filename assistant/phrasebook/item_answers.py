"""What answers one item: the site's words for its meanings, and the item's own."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from assistant.brief.brief import Brief, Feature
from assistant.brief.item import Option
from assistant.brief.items import AnyItem
from assistant.grammar.grammar import Danger, Pattern
from assistant.phrasebook.site_phrases import SitePhrases, named


def answers_of(
    item: AnyItem, phrases: SitePhrases, brief: Brief, *, any_yes: bool
) -> Iterator[Pattern]:
    """What answers the item; with `any_yes` any yes does, also where a telling one is wanted."""
    for meaning in item.answered_by:
        options = ((one.id, one.said) for one in options_for(meaning, item, brief))
        yield from named(meaning, meaning, options, Danger.OPTION)
        if meaning in ("choose", "name", "denied", "no_feature"):
            continue  # above, or the item's own, below
        for pattern in phrases.say(meaning, unit_said=item.units_heard):
            if meaning == "decline" and pattern.words in item.nothing_more:
                continue  # it is an answer here
            if meaning == "number" and item.wanted is not None:
                # "Not thirty degrees" is heard as "about thirty degrees": it begins with it.
                if pattern.words.startswith("{number}"):
                    yield replace(pattern, danger=Danger.SETTING)
                continue
            # Where only a telling answer confirms, the site's own yes is told what does.
            bare = meaning in ("confirm", "plain_yes") and item.telling_only and not any_yes
            yield replace(pattern, meaning="bare_yes") if bare else pattern
    yield from _own_answers(item, phrases.may_be_said.blood_pressure, any_yes=any_yes)


def _own_answers(item: AnyItem, pressures: Iterable[str], *, any_yes: bool) -> Iterator[Pattern]:
    """Those that answer this item and no other."""
    if item.figure == "pressure_mmhg":
        for words in pressures:
            yield Pattern(words, "number", danger=Danger.NUMBER)
    if item.number_figure == "pressure_mmhg":
        for words in pressures:
            if words.startswith("{number}"):  # as of every number that settles its item
                yield Pattern(words, "number", danger=Danger.SETTING)
    for words in item.told_too_low:
        yield Pattern(words, "pressure_low", danger=Danger.OPTION)  # it is read back
    if item.figure == "height_cm":
        yield Pattern("{metres}", "height", danger=Danger.NUMBER)
        yield Pattern("{feet}", "height_feet", danger=Danger.NUMBER)
    for words in item.told_plainly:
        yield Pattern(words, "plain_yes", danger=Danger.PLAIN)
    for words in (*item.not_yet, *item.undone_by, *item.given_up_by):
        yield Pattern(words, "decline", danger=Danger.LOW)
    for words in item.telling_answers:
        yield Pattern(words, "confirm", danger=Danger.HIGH)
    yield from denied(item)
    for words in () if any_yes else item.nothing_more:  # it is never read back
        yield Pattern(words, "no_feature", danger=Danger.OPTION)
    for words in item.own_exceptions:
        yield Pattern(words, "not_applicable", danger=Danger.HIGH)


def options_for(meaning: str, item: AnyItem, brief: Brief) -> Iterable[Option | Feature]:
    """What may be chosen; of features one by itself, as two in one breath are the wording's."""
    if meaning == "feature":
        return brief.features
    return item.options_among(brief.roster) if meaning in ("choose", "name") else ()


def denied(item: AnyItem) -> Iterator[Pattern]:
    """What denies an item in its own words."""
    for words in item.denied_plainly:
        yield Pattern(words, "denied", danger=Danger.HIGH)


def is_unheard(words: str, meaning: str, item: AnyItem) -> bool:
    """Whether that item's own words leave no room for these: "it's on" is no yes where a collar is
    to be off."""
    own = {
        "back": item.back_unheard,
        "plain_yes": item.not_yet,
        "wave_in_doubt": item.denied_plainly,
    }
    return words in own.get(meaning, ())
