"""What the watcher sees, beside what is said of it."""

from collections.abc import Iterator

from assistant.brief.events.asking import Deferred
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment
from assistant.brief.phases import Phase
from assistant.brief.valued_items import QuantityItem


def seen_instead(now: Moment, item: AnyItem) -> int | None:
    """The saturation that the watcher sees just now, where it is not what the item wants; in
    percent."""
    if not isinstance(item, QuantityItem) or not item.seen:
        return None
    percent = None if now.present.seen_ago_s is None else now.present.spo2_percent
    return None if percent is None or item.wants(percent) else percent


def not_so_any_more(now: Moment) -> Iterator[Happened]:
    """What was said to be so before the drugs, and is seen not to be, is open again."""
    for item in now.case.brief.items_of(Phase.BEFORE):
        percent = seen_instead(now, item)
        if percent is not None and now.case.standing(item) is Standing.DONE:
            left = Deferred(item=item.id, left_open=True)
            yield Happened(left, f"{item.label}: {percent} is seen", item.id)
