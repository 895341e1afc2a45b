"""Numbers that an item speaks and that its own settings, or the watcher's, contradict."""

from collections.abc import Iterator

from assistant.brief.brief import Brief
from assistant.brief.confirmed_items import TimedItem
from assistant.brief.items import AnyItem
from assistant.brief.valued_items import NumberItem, QuantityItem
from assistant.files.faults import Fault
from assistant.language.numbers_in_text import NumberInText, numbers_in, words_of
from assistant.language.tongue import Tongue

SATURATIONS = range(80, 98)
"""Percent: a number among these, in an item that speaks of the threshold, is taken for it."""


def contradictions(brief: Brief, tongue: Tongue) -> Iterator[Fault]:
    """What is spoken otherwise than it is set; `{threshold}` must still stand in the brief."""
    for section_at, section in enumerate(brief.sections):
        for item_at, item in enumerate(section.items):
            for key, found, allowed in _of_item(item, tongue):
                yield Fault(("sections", section_at, "items", item_at, key), found, allowed)
    if not any("{threshold}" in text for item in brief.items() for _, text in _texts(item)):
        yield from _threshold_in_words(brief, tongue)


def _of_item(item: AnyItem, tongue: Tongue) -> Iterator[tuple[str, str, str]]:
    threshold = any("{threshold}" in text for _, text in _texts(item))
    for key, text in _texts(item):
        spoken = list(numbers_in(text, tongue.numbers))
        if isinstance(item, QuantityItem) and key in ("ask", "call"):
            yield from _wanted(item, key, text, spoken)
        if isinstance(item, TimedItem):
            yield from _lasting(item, key, text, spoken, tongue)
        for one in spoken if threshold else ():
            if one.number in SATURATIONS and one.number not in _own(item):
                yield key, repr(text), "{threshold} for the saturation that is called"


def _wanted(
    item: QuantityItem, key: str, text: str, spoken: list[NumberInText]
) -> Iterator[tuple[str, str, str]]:
    said = {one.number for one in spoken}
    ends = {item.wanted_low, item.wanted_high}
    fits = ends <= said if len(said) >= len(ends) else bool(ends & said)
    if said and not fits:
        wanted = " and ".join(str(end) for end in sorted(ends))
        yield key, repr(text), f"the value that is wanted, {wanted}, in words"


def _lasting(
    item: TimedItem, key: str, text: str, spoken: list[NumberInText], tongue: Tongue
) -> Iterator[tuple[str, str, str]]:
    units = tongue.terms.units
    for unit, seconds in ((units.second, 1), (units.minute, 60)):
        for one in spoken:
            said = {tuple(words_of(form)) for form in (unit.one, unit.many)}
            follows = any(one.then[: len(form)] == form for form in said)
            if follows and one.number * seconds not in (item.lasts_s, item.again_after_s):
                yield key, repr(text), f"the time that it lasts, {item.lasts_s} s, in words"


def _threshold_in_words(brief: Brief, tongue: Tongue) -> Iterator[Fault]:
    """Nowhere `{threshold}`: then a saturation in an item's words would outlive a change of it."""
    for section_at, section in enumerate(brief.sections):
        for item_at, item in enumerate(section.items):
            own = _own(item)
            for key, text in _texts(item):
                said = {one.number for one in numbers_in(text, tongue.numbers)} - own
                if not said.isdisjoint(SATURATIONS):
                    place = ("sections", section_at, "items", item_at, key)
                    allowed = "{threshold} in the item that speaks of the saturation that is called"
                    yield Fault(place, repr(text), allowed)


def _own(item: AnyItem) -> set[float]:
    """Its own settings, which it may say though one is a saturation as well."""
    if isinstance(item, QuantityItem):
        return {item.wanted_low, item.wanted_high}
    return {item.low, item.high} if isinstance(item, NumberItem) else set()


def _texts(item: AnyItem) -> Iterator[tuple[str, str]]:
    """What is said of an item, by its key."""
    for key in ("ask", "call", "why", "ask_again"):
        text = getattr(item, key, None)
        if text is not None:
            yield key, text
    for text in getattr(item, "read_aloud", ()):
        yield "read_aloud", text
