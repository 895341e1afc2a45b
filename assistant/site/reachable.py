"""What a brief asks under conditions that do not exist or cannot come true."""

from collections.abc import Iterator

from assistant.brief.brief import Brief, BriefChoice, Section
from assistant.brief.conditions import BODY, FIGURES, FORM, TOLD, Condition, When, condition
from assistant.brief.confirmed_items import CONFIRMED
from assistant.brief.items import AnyItem
from assistant.brief.phases import Phase
from assistant.brief.valued_items import FeaturesItem, NumberItem
from assistant.files.faults import Fault

_NEEDS = {"shock_index": ("pulse_per_min", "pressure_mmhg")}


def unreachable(brief: Brief) -> Iterator[Fault]:
    """Conditions on what nobody can tell, and items that no brief ever asks."""
    for place, choice in enumerate(brief.briefs):
        known = {section.id for section in brief.sections if section.phase is Phase.BEFORE}
        known |= {item.id for item in brief.items_of(Phase.BEFORE)}
        for at, name in enumerate(choice.only):
            if name not in known:
                yield Fault(
                    ("briefs", place, "only", at),
                    name,
                    "items and sections of the phase before",
                )
    for at, section in enumerate(brief.sections):
        for fault in _impossible(brief, section.when, None):
            yield Fault(("sections", at, "when"), *fault)
        for item_at, item in enumerate(section.items):
            for fault in _impossible(brief, item.when, item):
                yield Fault(("sections", at, "items", item_at, "when"), *fault)
            if not _in_some_brief(brief, section, item):
                place_of = ("sections", at, "items", item_at, "id")
                yield Fault(place_of, item.id, "items that at least one of the briefs asks")


def _impossible(brief: Brief, when: When, item: AnyItem | None) -> Iterator[tuple[str, str]]:
    for text in when:
        one = condition(text)
        allowed = _fits(brief, one)
        if item is not None and one.name == item.id:
            allowed = "another item than this one"
        if allowed:
            yield repr(text), allowed


def _fits(brief: Brief, one: Condition) -> str:
    """What would be allowed there instead; empty when the condition can come true."""
    if one.relation == "told":
        return _fits_feature(brief, one)
    if one.relation == "is":
        answers = _answers(brief, one.name)
        if not answers:
            return f"an item with options or roles, `sex` or `brief` ({FORM})"
        return "" if one.answer in answers else f"one of: {', '.join(answers)}"
    if one.name not in FIGURES:
        return f"one of: {', '.join(FIGURES)}"
    for figure in _NEEDS.get(one.name, (one.name,)):
        asked = [item for item in brief.items() if item.figure == figure]
        if not asked and figure not in BODY:
            return f"a figure that some item sets ({figure} is set by none)"
    return _fits_range(brief, one)


def _fits_feature(brief: Brief, one: Condition) -> str:
    if one.name in TOLD:
        return ""
    asked = any(isinstance(item, FeaturesItem) for item in brief.items())
    for feature in brief.features:
        if feature.id == one.name:
            return "" if asked or feature.told else "a feature that is asked for, or has its `told`"
    names = ", ".join((*(feature.id for feature in brief.features), *TOLD))
    return f"one of: {names}"


def _fits_range(brief: Brief, one: Condition) -> str:
    asked = [_asked_range(brief, figure) for figure in _NEEDS.get(one.name, (one.name,))]
    ranges = [one for one in asked if one is not None]
    if len(ranges) < len(asked):
        return ""
    low, high = ranges[0]
    if one.name == "shock_index":
        pressure_low, pressure_high = ranges[1]
        low, high = low / pressure_high, high / max(1, pressure_low)
    possible = low < one.number if one.relation == "below" else one.number <= high
    return "" if possible else f"a number from {low:.3g} to {high:.3g}, as it may be answered"


def _asked_range(brief: Brief, figure: str) -> tuple[float, float] | None:
    """From where to where the items that ask for a figure take it; None where none does."""
    asked = [item for item in brief.items() if isinstance(item, NumberItem) and item.sets == figure]
    if not asked:
        return None
    return min(item.low for item in asked), max(item.high for item in asked)


def _answers(brief: Brief, name: str) -> tuple[str, ...]:
    """What an answer of that name may be."""
    if name == "brief":
        return tuple(one.id for one in brief.briefs)
    if name == "sex":
        return ("female", "male")
    for item in brief.items():
        if item.id == name:
            options = item.options_among(brief.roster)
            return tuple(one.id for one in options) or ((CONFIRMED,) if item.confirmed else ())
    return ()


def _in_some_brief(brief: Brief, section: Section, item: AnyItem) -> bool:
    """Whether one of the briefs, or the only one, can come to ask it."""
    if not brief.briefs:
        return True
    return any(may_ask(one, section, item) for one in brief.briefs)


def may_ask(choice: BriefChoice, section: Section, item: AnyItem) -> bool:
    """Whether that brief can come to ask it."""
    if section.phase is Phase.BEFORE and not choice.asks(section, item):
        return False
    return _may_be(section.when, choice.id) and _may_be(item.when, choice.id)


def _may_be(when: When, brief_id: str) -> bool:
    """Whether the condition can hold in that brief, whatever else is so."""
    conditions = [condition(text) for text in when]
    return not when or any(
        one.name != "brief" or one.holds(lambda _: brief_id) for one in conditions
    )
