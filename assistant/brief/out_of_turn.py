"""What is told out of turn: of an item that was put off or comes next, or of the one before.

Who says "yes" and then sees that only one works says so in the item's own words, or names somebody
else; nobody has to find words for going back first. And what was put off is told when it is so.
"""

from dataclasses import replace

from assistant.brief.agenda import told_beside
from assistant.brief.answers import choose_or_name, put_off, read_value_back
from assistant.brief.confirmed_items import CONFIRMED
from assistant.brief.events.asking import Asked, Reopened, Undone, ValueHeard
from assistant.brief.going_on import ask, go_on
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.numbers_told import quantity
from assistant.brief.states import INSTEAD, NOT_SO, UNDONE
from assistant.brief.valued_items import QuantityItem
from assistant.grammar.readings import Reading, Verdict


def take_late(now: Moment, reading: Reading) -> Steps:
    """What was put off is so by now: read back by its name, as something else is asked. A choice
    that is told before its question is taken as it is after it."""
    item = now.case.item(str(reading.values["late"]))
    told = reading.values.get("number")
    if told is not None and not item.can_be(float(told)):
        return  # of a pulse or a dose
    yield Happened(Asked(item=item.id), f"{item.label}, told out of turn", item.id)
    chosen = next((one for one in ("choose", "name") if one in reading.values), None)
    if chosen is not None:
        choice = replace(reading, meaning=chosen)
        sure = reading.verdict is Verdict.ACCEPT
        yield from choose_or_name(now, choice) if sure else read_value_back(now, choice)
        return
    if reading.text in item.given_up_by:
        yield from put_off(now, item, given_up=True)
        return
    if isinstance(item, QuantityItem) and told is not None:
        number = replace(reading, meaning="number")
        bare = not reading.text.endswith(tuple(item.units_heard))  # it may be of something else
        back = bare and item.wants(float(told))
        yield from read_value_back(now, number) if back else quantity(now, item, number)
        return
    spoken = reading.text if reading.text in item.told_with_a_no else item.label
    heard = ValueHeard(value=CONFIRMED, spoken=spoken)
    yield Happened(heard, f"{item.label}: {reading.text}?", item.id)
    yield from go_on(now)


def not_so(now: Moment, reading: Reading) -> Steps:
    """The item before is not so after all: it is asked again later, as if that had been said at
    once."""
    item = now.case.item(str(reading.values[NOT_SO]))
    yield Happened(Reopened(item=item.id), f"{item.label}: {reading.text}", item.id)
    yield from put_off(now, item, named=True)


def undone(now: Moment, reading: Reading) -> Steps:
    """An item that was so is so no more: its question is put again at once, as nobody can tell a
    word that was misheard from one that is true. One that is not asked by now, as of a shorter
    brief, is put off, so that it stays open."""
    item = now.case.item(str(reading.values[UNDONE]))
    yield Happened(Undone(item=item.id), f"{item.label}: {reading.text}?", item.id)
    yield from ask(now, item) if now.case.applies(item) else put_off(now, item, named=True)


def instead(now: Moment, reading: Reading) -> Steps:
    """Another answer to it than was said back: noted in place of that."""
    item = told_beside(now.case).named
    if item is None:
        return
    meaning = next(one for one in ("name", "choose") if one in item.answered_by)
    answer = replace(reading, meaning=meaning, values={meaning: reading.values[INSTEAD]})
    yield Happened(Reopened(item=item.id), f"{item.label}: another answer", item.id)
    yield Happened(Asked(item=item.id), item.label, item.id)
    yield from choose_or_name(now, answer)
