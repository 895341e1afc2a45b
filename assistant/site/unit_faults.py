"""Words for another unit than the number has that stands before them."""

from collections.abc import Iterator

from assistant.brief.decisions import SiteDecisions
from assistant.brief.valued_items import NumberItem, QuantityItem
from assistant.files.faults import Fault
from assistant.files.plain_yaml import Loc
from assistant.language.terms import Units
from assistant.language.unit_words import another_unit, misnamed_as, units_named, without_measures
from assistant.site.phrase_places import BRIEF, WORDING

SAID_IN: dict[Loc, tuple[str, ...]] = {
    ("says", "dose_read_back"): ("kilogram",),
    ("says", "dose_no_age"): ("kilogram",),
    ("says", "pounds"): ("pound",),
    ("terms", "dose", "fast_pump"): ("millilitre", "hour"),
    ("terms", "room", "ventilator"): ("minute",),
    ("terms", "room", "cylinder"): ("bar", "litre", "minute"),
    ("terms", "room", "cylinder_holds"): ("bar",),
}
"""The units of the numbers that are filled into a text of the wording, where it may name them."""
ANSWERS = ("number", "number_instead")
"""Phrases around the number that an item asks for, whichever item that is."""


def unit_faults(site: SiteDecisions) -> Iterator[tuple[str, Fault]]:
    """A fault for each, with its file: "pounds" among the terms for kilograms, a weight that is
    asked for in pounds and taken in kilograms, "{digits}, pounds" where kilograms are read back."""
    tongue = site.wording.tongue
    for unit in Units.model_fields:
        named = tongue.terms.units.named(unit)
        for number, words in (("one", named.one), ("many", named.many)):
            other = misnamed_as(unit, words, tongue)
            if other is not None:
                place = ("terms", "units", unit, number)
                allowed = f"words for the {unit}; these stand for the {other}"
                yield WORDING, Fault(place, repr(words), allowed)
    for loc, units in SAID_IN.items():
        text = _at(site, loc)
        other = another_unit(text, units, tongue)
        if other is not None:
            yield WORDING, Fault(loc, repr(text), _allowed(units, other))
    yield from _of_items(site)


def _of_items(site: SiteDecisions) -> Iterator[tuple[str, Fault]]:
    tongue, told = site.wording.tongue, set[Loc]()
    for loc, _, item in site.brief.placed():
        if not isinstance(item, NumberItem | QuantityItem):
            continue
        units = units_named(item.unit, tongue)
        for file, place, words in (*_asked(loc, item), *_answered(site)):
            asked = words if place[-1] not in ("ask", "call") else without_measures(words, tongue)
            other = another_unit(asked, units, tongue)
            if other is not None and place not in told:
                told.add(place)
                allowed = f"{_allowed(units, other)} ({item.id} is in {item.unit})"
                yield file, Fault(place, repr(words), allowed)


def _asked(loc: Loc, item: NumberItem | QuantityItem) -> Iterator[tuple[str, Loc, str]]:
    """What asks for its number, and the words for its unit."""
    yield BRIEF, (*loc, "ask"), item.ask
    if item.call is not None:
        yield BRIEF, (*loc, "call"), item.call
    for at, words in enumerate(item.unit_said):
        yield BRIEF, (*loc, "unit_said", at), words


def _answered(site: SiteDecisions) -> Iterator[tuple[str, Loc, str]]:
    for meaning in ANSWERS:
        for at, words in enumerate(getattr(site.wording.may_be_said, meaning)):
            yield WORDING, ("may_be_said", meaning, at), words


def _at(site: SiteDecisions, loc: Loc) -> str:
    part: object = site.wording
    for step in loc:
        part = getattr(part, str(step))
    return str(part)


def _allowed(units: tuple[str, ...] | frozenset[str], other: str) -> str:
    return f"words for the {' and '.join(sorted(units))}; these name the {other}"
