"""What is told about the patient: read back, confirmed, and only then known."""

from collections.abc import Callable

from assistant.brief.going_on import go_on
from assistant.brief.items import NumberItem
from assistant.brief.known import Value
from assistant.brief.prompts import UNIT_NAMES
from assistant.brief.situation import Desk, Happening, Steps
from assistant.brief.states import State
from assistant.dosing.doses import only_adults
from assistant.dosing.sourced import Span
from assistant.dosing.units import whole_centimetres, whole_kilograms
from assistant.grammar.readings import Reading
from assistant.language.doubt import must_be_spelt
from assistant.speaking.mouth import Line

_FIGURES = {"weight_kg": "weight", "height_cm": "height", "age_years": "age"}


def weight(desk: Desk, reading: Reading) -> Steps:
    yield from _number(desk, reading, "weight_kg", "kilograms")


def weight_pounds(desk: Desk, reading: Reading) -> Steps:
    yield from _number(desk, reading, "weight_kg", "pounds", whole_kilograms)


def height(desk: Desk, reading: Reading) -> Steps:
    yield from _number(desk, reading, "height_cm", "centimetres")


def height_feet(desk: Desk, reading: Reading) -> Steps:
    # Feet and inches have no teens to be taken for tens, so there is nothing to spell.
    centimetres = whole_centimetres(int(reading.values["feet"]))
    yield from _heard_number(desk, "height_cm", centimetres)


def age(desk: Desk, reading: Reading) -> Steps:
    yield from _number(desk, reading, "age_years", "years")


def female(desk: Desk, _: Reading) -> Steps:
    yield from _heard(desk, "sex", "female", desk.tongue.terms.woman)


def male(desk: Desk, _: Reading) -> Steps:
    yield from _heard(desk, "sex", "male", desk.tongue.terms.man)


def pressure_low(desk: Desk, _: Reading) -> Steps:
    yield from _heard(desk, "low_pressure", True, desk.tongue.terms.pressure_low)


def pressure_recovered(desk: Desk, _: Reading) -> Steps:
    yield from _heard(desk, "low_pressure", False, desk.tongue.terms.pressure_recovered)


def allergy(desk: Desk, reading: Reading) -> Steps:
    allergen = desk.site.formulary.allergen(str(reading.values["allergen"]))
    spoken = desk.tongue.terms.allergy.format(allergen=allergen.called)
    yield from _heard(desk, "allergies", allergen.id, spoken)


def digits(desk: Desk, reading: Reading) -> Steps:
    """The number of a fact whose digits were asked for."""
    fact = desk.case.known.fact
    if fact is not None:
        yield from _number(desk, reading, fact.figure, "number")


def ask_digits(desk: Desk, figure: str, *, bare: bool) -> Steps:
    """Ask for a number once more, digit by digit; `bare` when the digits alone will do.

    Digits alone would be taken for kilograms, so of pounds the whole sentence is awaited.
    """
    asked = isinstance(desk.case.current, NumberItem) and desk.case.current.sets == figure
    if not bare or (asked and desk.case.state in (State.ASKING, State.CHECKING)):
        yield Line(desk.says.ask_digits, "digits", desk.case.known.current)
        return
    yield Happening(
        "fact-heard",
        f"{_called(figure)}: its digits?",
        values={"figure": figure, "value": None, "spoken": ""},
    )
    yield from go_on(desk)


def confirm_fact(desk: Desk) -> Steps:
    fact = desk.case.known.fact
    if fact is not None and fact.value is not None:
        yield Happening(
            "fact-taken",
            f"{_called(fact.figure)}: {fact.spoken}",
            values={"figure": fact.figure, "value": fact.value, "spoken": fact.spoken},
        )
        yield Line(desk.filled(desk.says.noted, value=fact.spoken), "noted")
    yield from go_on(desk)


def refuse_fact(desk: Desk) -> Steps:
    fact = desk.case.known.fact
    if fact is not None:
        called = _called(fact.figure)
        yield Happening("fact-refused", f"{called}: refused", values={"figure": fact.figure})
        yield Line(desk.says.refused_value, "refused")
    yield from go_on(desk)


def confirm_weight_again(desk: Desk) -> Steps:
    """Before any dose after a restart: the weight that was known is read back anew."""
    known_kg = desk.case.known.weight_kg
    if known_kg is not None:
        yield Line(desk.says.weight_again, "weight-again")
        yield from _heard_number(desk, "weight_kg", known_kg)


def possible_for(desk: Desk, item: NumberItem) -> range:
    """What an item can be answered with: its own range and, of a figure, an adult's."""
    low, high = item.low, item.high
    if item.sets is not None:
        span = _adults(desk, item.sets)
        low, high = max(low, span.low), min(high, span.high)
    return range(low, high + 1)


def only_possible(desk: Desk, item: NumberItem, number: int) -> Steps:
    """Refuse a number that the item cannot have."""
    if item.sets is not None and not _adults(desk, item.sets).holds(number):
        yield from _heard_number(desk, item.sets, number)
        return
    possible = possible_for(desk, item)
    text = desk.filled(
        desk.says.out_of_range,
        number=desk.say(number),
        low=desk.say(possible.start),
        high=desk.say(possible.stop - 1),
        unit=item.unit,
    )
    yield Line(text, "out-of-range", item.id)
    yield from go_on(desk)


def _adults(desk: Desk, figure: str) -> Span:
    span: Span = getattr(desk.site.formulary.adults, figure)
    return span


def _number(
    desk: Desk,
    reading: Reading,
    figure: str,
    slot: str,
    converted: Callable[[int], int] = int,
) -> Steps:
    number = int(reading.values[slot])
    span = _adults(desk, figure)
    numbers = desk.tongue.numbers
    if must_be_spelt(number, slot, reading, lambda other: span.holds(converted(other)), numbers):
        yield from ask_digits(desk, figure, bare=slot != "pounds")
        return
    yield from _heard_number(desk, figure, converted(number))


def _heard_number(desk: Desk, figure: str, number: int) -> Steps:
    span, terms = _adults(desk, figure), desk.tongue.terms
    unit = terms.units.named(UNIT_NAMES[figure]).many
    if not span.holds(number):
        heard = terms.i_heard.format(number=desk.say(number))
        text = f"{heard} {only_adults(_FIGURES[figure], span, unit, desk.tongue)}"
        yield Line(text, "out-of-range")
        yield from go_on(desk)
        return
    yield from _heard(
        desk, figure, number, terms.quantity.format(number=desk.say(number), unit=unit)
    )


def _heard(desk: Desk, figure: str, value: Value, spoken: str) -> Steps:
    item = desk.case.current
    asked = isinstance(item, NumberItem) and item.sets == figure
    if asked and item is not None and desk.case.state in (State.ASKING, State.CHECKING):
        yield Happening(
            "value-heard",
            f"{_called(figure)}: {spoken}?",
            item.id,
            values={"value": value, "spoken": spoken},
        )
    else:
        yield Happening(
            "fact-heard",
            f"{_called(figure)}: {spoken}?",
            values={"figure": figure, "value": value, "spoken": spoken},
        )
    yield from go_on(desk)


def _called(figure: str) -> str:
    return _FIGURES.get(figure, figure.replace("_", " "))
