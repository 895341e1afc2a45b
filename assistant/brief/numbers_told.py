"""Numbers that are told: of the item that is asked, of the one before, or of the patient."""

from dataclasses import replace
from decimal import Decimal

from assistant.brief.agenda import told_of_still
from assistant.brief.answers import in_words, read_value_back, take
from assistant.brief.dose_questions import correct_weight
from assistant.brief.events.asides import FigureDisputed
from assistant.brief.events.asking import Asked, Reopened
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import (
    ask_number_again,
    digits,
    only_possible,
    other_pounds,
    possible_for,
    pressure,
    told_in_pounds,
)
from assistant.brief.said_again import begins_as_one_of
from assistant.brief.states import State
from assistant.brief.valued_items import NumberItem, QuantityItem
from assistant.grammar.readings import Reading, Verdict
from assistant.language.doubt import may_be_another, must_be_spelt
from assistant.language.tongue import exactly
from assistant.speaking.mouth import Line

INSTEAD_S = 45.0
"""Whoever puts a number right ("no, ninety") says so within this time after the next item came up.
Nobody begins an answer so; the number was said back before the next call, and a dose may have been
told in between. Common practice, no source."""


def number(now: Moment, reading: Reading) -> Steps:
    """A number for the item that is asked, or the digits of a fact.

    One that is too easily another is asked for digit by digit, and one that the item cannot have
    is refused, before it is read back.
    """
    item, before = now.case.current, _corrected(now, reading)
    if before is not None:
        yield Happened(Reopened(item=before.id), f"{before.label}: another number", before.id)
        yield Happened(Asked(item=before.id), before.label, before.id)
        yield from _number(now, before, reading)
    elif now.case.state is State.STATING:
        yield from digits(now, reading)
    elif now.case.state is State.QUOTING:
        yield from correct_weight(now, reading)
    elif item is not None and "number" in item.answered_by:
        yield from _number(now, item, reading)
    else:  # too late to be about the item before, or not for sure
        disputed = told_of_still(now.case)
        if disputed is not None and disputed.figure == "weight_kg" and is_put_right(now, reading):
            yield Happened(FigureDisputed(figure="weight_kg"), f"{disputed.label}: in doubt")
        yield Line(now.says.say_again, "again", now.case.known.current)


def _number(now: Moment, item: AnyItem, reading: Reading) -> Steps:
    if told_in_pounds(now) and item.figure == "weight_kg":
        yield from other_pounds(now, reading)
    elif isinstance(item, QuantityItem):
        yield from quantity(now, item, reading)
    elif isinstance(item, NumberItem):
        heard = exactly(float(reading.values["number"]))
        low, high = possible_for(now, item)
        heard_as = heard, "number", reading, lambda other: low <= other <= high, now.tongue.numbers
        doubtful = may_be_another(*heard_as)
        if must_be_spelt(*heard_as) and not item.noted_at_once:
            yield from ask_number_again(now)
        elif not low <= heard <= high:
            yield from only_possible(now, item, heard)
        elif item.noted_at_once and not doubtful and reading.verdict is Verdict.ACCEPT:
            yield from take(now, item, _stored(heard), in_words(now, item, _stored(heard)))
        else:
            yield from read_value_back(now, reading)


def quantity(now: Moment, item: QuantityItem, reading: Reading) -> Steps:
    """A number that is checked at once when it was heard for sure, and else read back first."""
    heard, numbers = exactly(float(reading.values["number"])), now.tongue.numbers
    value = _stored(heard)
    if not item.can_be(value):
        yield Line(now.says.say_again, "again", item.id)
        return
    asks = next(now.case.brief.asking_for(item.number_figure or ""), None)
    if isinstance(asks, NumberItem) and not asks.low <= value <= asks.high:
        yield from only_possible(now, asks, heard)  # nobody has such a one
        return
    partner = numbers.confusable_with(heard)
    spelt = numbers.said_in_digits(heard, reading.text)
    # "Fifty" that was heard as "fifteen" would settle it: where the two are close it is read back.
    misheard = partner is not None and not spelt and reading.runner_up is not None
    if reading.verdict is Verdict.ACCEPT and not misheard:
        yield from take(now, item, value, in_words(now, item, value))
    else:
        yield from read_value_back(now, reading)


def pressure_told(now: Moment, reading: Reading) -> Steps:
    """The systolic pressure: the answer to the item that asks whether it holds, else a fact."""
    item = now.case.current
    asks = isinstance(item, QuantityItem) and item.number_figure == "pressure_mmhg"
    if isinstance(item, QuantityItem) and asks and now.case.state is State.ASKING:
        values = {"number": reading.values["systolic"]}
        yield from quantity(now, item, replace(reading, meaning="number", values=values))
    else:
        yield from pressure(now, reading)


def cannot_be(now: Moment, reading: Reading) -> bool:
    """Whether that number cannot answer the item that is asked; unsurely heard, it was another
    word."""
    item = now.case.current
    asked = now.case.state in (State.ASKING, State.CHECKING)
    if not asked or not isinstance(item, NumberItem) or _corrected(now, reading) is not None:
        return False
    if told_in_pounds(now) and item.figure == "weight_kg":
        return False
    low, high = possible_for(now, item)
    return not low <= float(reading.values["number"]) <= high


def is_put_right(now: Moment, reading: Reading) -> bool:
    """Whether it is said as another number in place of one ("no, ninety")."""
    return begins_as_one_of(now.site.wording.may_be_said.number_instead, reading)


def _corrected(now: Moment, reading: Reading) -> AnyItem | None:
    """The item before, where the number is meant for that one: it begins with a "no", and the next
    has just come up."""
    item, known = now.case.current, now.case.known
    before = told_of_still(now.case)
    if before is None or "number" not in before.answered_by or not is_put_right(now, reading):
        return None
    since_s = known.answered_s if now.case.state is State.READY else known.asked_s
    soon = since_s is not None and now.present.now_s - since_s <= INSTEAD_S
    sure = reading.verdict is Verdict.ACCEPT or (item is not None and "number" in item.answered_by)
    return before if soon and sure else None


def _stored(heard: int | Decimal) -> int | float:
    """A number as the record holds it."""
    return heard if isinstance(heard, int) else float(heard)
