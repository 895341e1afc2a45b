"""The patient's figures that items set: each in its own unit, and once."""

from collections.abc import Iterator

from assistant.brief.brief import Brief, BriefChoice, Section
from assistant.brief.conditions import condition
from assistant.brief.items import AnyItem
from assistant.brief.phases import Phase
from assistant.brief.valued_items import NumberItem, QuantityItem
from assistant.files.faults import Fault
from assistant.language.tongue import Tongue
from assistant.language.unit_words import is_unit_of, unit_words
from assistant.site.reachable import may_ask


def misset(brief: Brief, tongue: Tongue) -> Iterator[Fault]:
    """What an item sets in another unit, or a second time."""
    for loc, _, item in brief.placed():
        if isinstance(item, NumberItem | QuantityItem) and item.sets is not None:
            yield from _in_another_unit(loc, item, item.sets, tongue)
    yield from _twice(brief)


def _in_another_unit(
    loc: tuple[int | str, ...], item: NumberItem | QuantityItem, figure: str, tongue: Tongue
) -> Iterator[Fault]:
    told: list[tuple[tuple[int | str, ...], str]] = [(("unit",), item.unit)]
    told += [(("unit_said", at), words) for at, words in enumerate(item.unit_said)]
    for key, words in told:
        if not is_unit_of(words, figure, tongue):
            known = ", ".join(unit_words(figure, tongue))
            allowed = f"one of {known} in it, as it sets {figure}"
            yield Fault((*loc, *key), repr(words), allowed)


def _twice(brief: Brief) -> Iterator[Fault]:
    """Two that set the same figure in one phase of one brief, whoever the patient is."""
    told: set[tuple[int | str, ...]] = set()
    for choice in brief.briefs or (None,):
        first: dict[tuple[Phase, str], str] = {}
        for loc, section, item in brief.placed():
            if item.figure is None or not _asked_of_all(choice, section, item):
                continue
            other = first.setdefault((section.phase, item.figure), item.id)
            if other != item.id and loc not in told:
                told.add(loc)
                allowed = f"another figure, as {other} sets that one"
                yield Fault((*loc, "sets"), item.figure, allowed)


def _asked_of_all(choice: BriefChoice | None, section: Section, item: AnyItem) -> bool:
    whens = (*section.when, *item.when)
    if any(condition(one).name != "brief" for one in whens):
        return False
    return choice is None or may_ask(choice, section, item)
