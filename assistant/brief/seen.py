"""What the watcher sees, beside what is said of it."""

from collections.abc import Iterator

from assistant.brief.events.asking import Deferred
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment
from assistant.brief.phases import Phase
from assistant.brief.valued_items import OxygenItem, QuantityItem

JUST_DENIED_S = 8.0
"""A probe on a finger reads late; who looks at the chest and the monitor may know better for so
long. Common practice, no source."""
TOLD_FOR_S = 60.0
"""For so long a saturation that somebody told is what it is now, where nothing is seen. Common
practice, no source."""


def seen_of(now: Moment, item: AnyItem) -> int | None:
    """What the watcher sees just now of an item that is seen; in percent."""
    if not isinstance(item, QuantityItem) or not item.seen:
        return None
    return None if now.present.seen_ago_s is None else now.present.spo2_percent


def seen_instead(now: Moment, item: AnyItem) -> int | None:
    """The same, where it is not what the item wants."""
    percent = seen_of(now, item)
    return None if percent is None or item.wants(percent) else percent


def seen_meanwhile(now: Moment) -> tuple[OxygenItem, int] | None:
    """The saturation that is bagged up, and that nobody has told when asked, with what is seen of
    it: back, or not back when its time has come."""
    known = now.case.known
    asked = [] if now.case.current is None else [now.case.current]
    bagged = now.case.with_standing(Standing.RUNNING, Standing.DUE, Standing.OUTSTANDING)
    for item in (*asked, *bagged):
        percent = seen_of(now, item)
        if not isinstance(item, OxygenItem) or percent is None or _just_denied(now, item):
            continue
        is_due = now.case.standing(item) is Standing.DUE and known.current is None
        if known.current in (None, item.id) and (is_due or item.wants(percent)):
            return item, percent
    return None


def _just_denied(now: Moment, item: AnyItem) -> bool:
    """Whether somebody has said just now that it is not back, and is not to be contradicted in the
    same breath."""
    denied_s = now.case.known.items[item.id].put_off_s
    return denied_s is not None and now.present.now_s - denied_s < JUST_DENIED_S


def low_saturation(now: Moment) -> int | None:
    """The saturation that is seen, or else was told lately, where it is not what the site wants
    before an attempt; in percent."""
    told: list[float] = []
    for item in now.case.brief.items():
        if not isinstance(item, QuantityItem) or not item.seen:
            continue
        percent = seen_of(now, item)
        if percent is not None:
            return None if item.wants(percent) else percent
        state = now.case.known.items[item.id]
        lately = state.put_off_s is not None and now.present.now_s - state.put_off_s < TOLD_FOR_S
        if lately and state.told is not None:
            told.append(state.told)
    return int(told[-1]) if told else None


def not_so_any_more(now: Moment) -> Iterator[Happened]:
    """What was said to be so before the drugs, and is seen not to be, is open again."""
    for item in now.case.brief.items_of(Phase.BEFORE):
        percent = seen_instead(now, item)
        if percent is not None and now.case.standing(item) is Standing.DONE:
            left = Deferred(item=item.id, left_open=True)
            yield Happened(left, f"{item.label}: {percent} is seen", item.id)
