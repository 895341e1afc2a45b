"""The words that await an answer in each state."""

from assistant.brief.case import Standing
from assistant.brief.desk import Desk
from assistant.brief.items import AnyItem, ChooseItem, NumberItem, Option
from assistant.brief.steps import State
from assistant.meaning.numbers import say_digits, say_number
from assistant.speaking.mouth import Line, Urgency

AWAITING = ("ask", "read-back", "quote", "closing")
"""Tags of the lines after which the assistant waits for an answer."""


def prompt(desk: Desk) -> Line | None:
    """The line that awaits an answer in the present state, if one does."""
    case, says = desk.case, desk.says
    if case.state is State.ASKING and case.current is not None:
        return Line(question(desk, case.current), "ask", case.current.id, Urgency.ASK)
    if case.state is State.CHECKING and case.current is not None:
        return Line(read_back(desk, case.current), "read-back", case.current.id)
    if case.state is State.QUOTING and case.known.quote is not None:
        quote = case.known.quote
        drug = desk.site.formulary.drug(quote.drug).called
        number, digits = say_number(quote.weight_kg), say_digits(quote.weight_kg)
        text = desk.filled(says.dose_read_back, drug=drug, number=number, digits=digits)
        return Line(text, "quote")
    if case.state is State.CLOSING:
        return Line(says.end_case, "closing")
    return None


def question(desk: Desk, item: AnyItem) -> str:
    if item.kind == "plan":
        return " ".join((*item.read_aloud, item.ask))
    if item.kind == "timed" and desk.case.known.items[item.id].standing is Standing.DUE:
        return item.ask_again
    return item.ask


def read_back(desk: Desk, item: AnyItem) -> str:
    pending = desk.case.known.pending
    if pending is None:
        return item.ask
    if isinstance(item, NumberItem):
        number = int(pending.value)
        return desk.filled(
            desk.says.read_back_number,
            number=say_number(number),
            digits=say_digits(number),
            unit=item.unit,
        )
    return desk.filled(desk.says.read_back, value=pending.spoken)


def spoken_value(desk: Desk, item: AnyItem, value: str | float) -> str:
    if isinstance(item, NumberItem):
        return f"{say_number(int(value))} {item.unit}"
    roster = desk.site.brief.roster
    options: tuple[Option, ...] = item.options if isinstance(item, ChooseItem) else roster
    return next(option.called for option in options if option.id == value)


def say_time(seconds: int) -> str:
    """A length of time for the ear: "three minutes", "ninety seconds"."""
    if seconds % 60 or seconds < 120:
        return f"{say_number(seconds)} seconds"
    return f"{say_number(seconds // 60)} minutes"
