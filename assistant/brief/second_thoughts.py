"""Second thoughts: what is said of the item before, once the next one is asked.

Who says "yes" and then sees that only one works says so in the item's own words, or names somebody
else; nobody has to find words for going back first.
"""

from dataclasses import replace

from assistant.brief.agenda import label, told_beside
from assistant.brief.answers import choose_or_name, put_off
from assistant.brief.events.asking import Asked, Reopened
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.states import INSTEAD, NOT_SO
from assistant.grammar.readings import Reading


def not_so(now: Moment, reading: Reading) -> Steps:
    """It is not so after all: it is asked again later, as if that had been said at once."""
    item = now.case.item(str(reading.values[NOT_SO]))
    yield Happened(Reopened(item=item.id), f"{label(item)}: {reading.text}", item.id)
    yield from put_off(now, item, named=True)


def instead(now: Moment, reading: Reading) -> Steps:
    """Another answer to it than was said back: noted in place of that."""
    item = told_beside(now.case).named
    if item is None:
        return
    meaning = next(one for one in ("name", "choose") if one in item.answered_by)
    answer = replace(reading, meaning=meaning, values={meaning: reading.values[INSTEAD]})
    yield Happened(Reopened(item=item.id), f"{label(item)}: another answer", item.id)
    yield Happened(Asked(item=item.id), label(item), item.id)
    yield from choose_or_name(now, answer)
