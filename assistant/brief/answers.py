"""Answers: what a confirmation, a decline or a value does in each state."""

from assistant.brief.agenda import label
from assistant.brief.dose_questions import confirm_quote, refuse_quote
from assistant.brief.going_on import ask_next, go_on, run_clock
from assistant.brief.items import AnyItem, ConfirmedItem, NumberItem, TimedItem
from assistant.brief.known import Standing
from assistant.brief.mixing import confirm_step, step_not_yet
from assistant.brief.patient import (
    ask_digits,
    confirm_fact,
    digits,
    only_possible,
    possible_for,
    refuse_fact,
)
from assistant.brief.prompts import spoken_value
from assistant.brief.situation import Desk, Happening, Steps
from assistant.brief.states import State
from assistant.grammar.readings import Reading
from assistant.language.doubt import must_be_spelt
from assistant.speaking.mouth import Line

CONFIRMED = "confirmed"


def confirm(desk: Desk, _: Reading) -> Steps:
    case = desk.case
    if case.state is State.QUOTING:
        yield from confirm_quote(desk)
    elif case.state is State.STATING:
        yield from confirm_fact(desk)
    elif case.state is State.MIXING:
        yield from confirm_step(desk)
    elif case.state is State.CLOSING:
        yield Happening("ended", "the case is ended")
        yield Line(desk.says.ended, "ended")
    elif case.state is State.CHECKING and case.known.pending is not None:
        yield from take(desk, case.known.pending.value, case.known.pending.spoken)
    elif case.current is not None and case.current.kind not in ("number", "choose", "name"):
        yield from take(desk, CONFIRMED, CONFIRMED)


def bare_yes(desk: Desk, _: Reading) -> Steps:
    """Nothing is confirmed; what would be is told."""
    case, said = desk.case, desk.site.wording.may_be_said
    item, yes = case.current, said.confirm[0]
    if isinstance(item, ConfirmedItem) and item.only_telling and case.state is State.ASKING:
        yes = item.confirmations[0]
    line = desk.filled(desk.says.bare_yes, yes=yes, no=said.decline[0])
    yield Line(line, "say-how", case.known.current)


def take(desk: Desk, value: str | float, spoken: str) -> Steps:
    item = desk.case.current
    if item is None:
        return
    due = desk.case.known.items[item.id].standing is Standing.DUE
    yield Happening(
        "answered",
        f"{label(item)}: {spoken}",
        item.id,
        values={"item": item.id, "value": value, "spoken": spoken},
    )
    if isinstance(item, TimedItem) and not due:
        yield from run_clock(desk, item, item.lasts_s)
    elif item.kind in ("choose", "name", "number"):
        yield Line(desk.filled(desk.says.noted, value=spoken), "noted", item.id)
    yield from ask_next(desk)


def decline(desk: Desk, _: Reading) -> Steps:
    case, item = desk.case, desk.case.current
    if case.state is State.QUOTING:
        yield from refuse_quote(desk)
    elif case.state is State.STATING:
        yield from refuse_fact(desk)
    elif case.state is State.MIXING:
        yield from step_not_yet(desk)
    elif case.state is State.CLOSING:
        yield Happening("kept-open", "the case goes on")
        yield Line(desk.says.kept_open, "kept-open")
        yield from go_on(desk)
    elif item is not None and case.state is State.CHECKING:
        yield Happening("value-refused", f"{label(item)}: read back and refused", item.id)
        yield Line(desk.says.refused_value, "refused", item.id)
        yield from go_on(desk)
    elif item is not None:
        yield from defer(desk, item)


def defer(desk: Desk, item: AnyItem) -> Steps:
    standing = desk.case.known.items[item.id].standing
    yield Happening("deferred", f"{label(item)}: not yet", item.id, values={"item": item.id})
    if standing is Standing.DUE and isinstance(item, TimedItem):
        yield from run_clock(desk, item, item.again_after_s)
    elif standing is Standing.OPEN:
        yield Line(desk.says.deferred, "deferred", item.id)
    else:
        yield Line(desk.says.outstanding, "outstanding", item.id)
    yield from ask_next(desk)


def number(desk: Desk, reading: Reading) -> Steps:
    """A number for the item that is asked, or the digits of a fact.

    One that is too easily another is asked for digit by digit, and one that the item cannot have
    is refused, before it is read back.
    """
    item = desk.case.current
    if desk.case.state is State.STATING:
        yield from digits(desk, reading)
    elif isinstance(item, NumberItem):
        heard = int(reading.values["number"])
        possible = possible_for(desk, item)
        if must_be_spelt(
            heard, "number", reading, lambda other: other in possible, desk.tongue.numbers
        ):
            yield from ask_digits(desk, item.sets or item.id, bare=False)
        elif heard not in possible:
            yield from only_possible(desk, item, heard)
        else:
            yield from heard_value(desk, reading)


def heard_value(desk: Desk, reading: Reading) -> Steps:
    """An answer that is read back before it counts."""
    item = desk.case.current
    if item is not None:
        value = reading.values.get(reading.meaning, CONFIRMED)
        spoken = reading.text if value == CONFIRMED else spoken_value(desk, item, value)
        yield Happening(
            "value-heard",
            f"{label(item)}: {spoken}?",
            item.id,
            values={"value": value, "spoken": spoken},
        )
        yield from go_on(desk)


def choose_or_name(desk: Desk, reading: Reading) -> Steps:
    item = desk.case.current
    if item is not None and desk.case.state is State.ASKING:
        value = reading.values[reading.meaning]
        yield from take(desk, value, spoken_value(desk, item, value))
    else:
        yield from heard_value(desk, reading)
