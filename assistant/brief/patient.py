"""What is told about the patient: read back, confirmed, and only then known."""

from dataclasses import replace
from decimal import Decimal

from assistant.brief.doses_awaited import keep_dose_question
from assistant.brief.events.asides import DoseDropped, FactHeard, FactRefused, FigureOutside
from assistant.brief.events.asking import ValueHeard, ValueRefused
from assistant.brief.going_on import go_on, tell
from assistant.brief.item import NumberFigure
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.prompts import UNIT_NAMES
from assistant.brief.states import State
from assistant.brief.unsettled import Figure, Value
from assistant.brief.valued_items import NumberItem
from assistant.dosing.doses import only_adults
from assistant.dosing.sourced import Span
from assistant.dosing.units import whole_centimetres, whole_kilograms
from assistant.grammar.readings import Reading
from assistant.language.doubt import must_be_spelt
from assistant.language.tongue import exactly
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled

POUNDS_FOR_S = 30.0
"""Who puts a weight right so soon after its pounds were said back means pounds."""
_FIGURES = {
    "weight_kg": "weight",
    "height_cm": "height",
    "age_years": "age",
    "pressure_mmhg": "pressure",
}


def called(figure: str) -> str:
    """A figure's name for a reader of the record."""
    return _FIGURES.get(figure, figure.replace("_", " "))


def weight(now: Moment, reading: Reading) -> Steps:
    """The weight in kilograms."""
    yield from _number(now, reading, "weight_kg", "kilograms")


def weight_pounds(now: Moment, reading: Reading) -> Steps:
    """The weight in pounds: said back as it was heard, digit by digit, before the kilograms are.

    So nothing is asked in digits, which would be taken for kilograms.
    """
    pounds = int(reading.values["pounds"])
    now.present.pounds_at_s = now.present.now_s
    digits = now.tongue.numbers.say_digits(pounds)
    yield Line(filled(now.says.pounds, digits=digits), "pounds")
    yield from _heard_number(now, "weight_kg", whole_kilograms(pounds))


def told_in_pounds(now: Moment) -> bool:
    """Whether a number that puts the weight right is one of pounds as well."""
    at_s = now.present.pounds_at_s
    return at_s is not None and now.present.now_s - at_s < POUNDS_FOR_S


def other_pounds(now: Moment, reading: Reading) -> Steps:
    """Another number in place of those pounds."""
    pounds = {"pounds": reading.values["number"]}
    yield from weight_pounds(now, replace(reading, values=pounds))


def height(now: Moment, reading: Reading) -> Steps:
    """The height in centimetres, or in metres and these."""
    slot = "metres" if "metres" in reading.values else "centimetres"
    yield from _number(now, reading, "height_cm", slot)


def height_feet(now: Moment, reading: Reading) -> Steps:
    """The height in feet and inches."""
    # Feet and inches have no teens to be taken for tens, so there is nothing to spell.
    centimetres = whole_centimetres(int(reading.values["feet"]))
    yield from _heard_number(now, "height_cm", centimetres)


def age(now: Moment, reading: Reading) -> Steps:
    """The age in years."""
    yield from _number(now, reading, "age_years", "years")


def female(now: Moment, _: Reading) -> Steps:
    """A woman."""
    yield from _heard(now, "sex", "female", now.tongue.terms.woman)


def male(now: Moment, _: Reading) -> Steps:
    """A man."""
    yield from _heard(now, "sex", "male", now.tongue.terms.man)


def pressure(now: Moment, reading: Reading) -> Steps:
    """The systolic pressure."""
    yield from _number(now, reading, "pressure_mmhg", "systolic")


def pressure_low(now: Moment, _: Reading) -> Steps:
    """The blood pressure is low."""
    yield from _heard(now, "low_pressure", True, now.tongue.terms.pressure_low)


def pressure_recovered(now: Moment, _: Reading) -> Steps:
    """It is no longer low."""
    yield from _heard(now, "low_pressure", False, now.tongue.terms.pressure_recovered)


def acidosis(now: Moment, _: Reading) -> Steps:
    """The patient breathes hard against acid."""
    yield from _heard(now, "acidosis", True, now.tongue.terms.acidosis)


def obstruction(now: Moment, _: Reading) -> Steps:
    """Air gets out slowly."""
    yield from _heard(now, "obstruction", True, now.tongue.terms.obstruction)


def feature_told(now: Moment, reading: Reading) -> Steps:
    """Something that this patient has, of the site's own features."""
    feature = now.site.brief.feature(str(reading.values["feature"]))
    yield from _heard(now, "feature", feature.id, feature.called)


def allergy(now: Moment, reading: Reading) -> Steps:
    """An allergy, of those that the formulary knows; or two in one breath, read back in turn."""
    slots = ("also_allergen", "allergen")
    yield from keep_open_question(now)
    for allergen_id in (str(reading.values[one]) for one in slots if one in reading.values):
        allergen = now.site.formulary.allergen(allergen_id)
        spoken = now.tongue.terms.allergy.format(allergen=allergen.called)
        yield Happened(
            FactHeard(figure="allergies", value=allergen.id, spoken=spoken),
            f"allergies: {spoken}?",
        )
    yield from go_on(now)


def digits(now: Moment, reading: Reading) -> Steps:
    """The number of a fact whose digits were asked for."""
    fact = now.case.known.fact
    if fact is not None and fact.figure == "weight_kg" and told_in_pounds(now):
        yield from other_pounds(now, reading)
    elif fact is not None and fact.figure in (
        "weight_kg",
        "height_cm",
        "age_years",
        "pressure_mmhg",
    ):
        yield from _number(now, reading, fact.figure, "number")


def ask_number_again(now: Moment) -> Steps:
    """Ask for what was said once more, its number digit by digit; what was read back before that
    counts no more."""
    if now.case.state is State.CHECKING:
        yield Happened(
            ValueRefused(), "another number was heard, not for sure", now.case.known.current
        )
    yield Line(now.says.ask_digits, "digits", now.case.known.current)


def _ask_digits(now: Moment, figure: NumberFigure) -> Steps:
    """Ask for the digits of a figure: of the item that asks for it, or else of a fact."""
    if _is_asked(now, figure):
        yield from ask_number_again(now)
        return
    yield from keep_open_question(now)
    heard = FactHeard(figure=figure, value=None, spoken="")
    yield Happened(heard, f"{called(figure)}: its digits?")
    yield from go_on(now)


def _is_asked(now: Moment, figure: Figure) -> bool:
    """Whether the item that is being asked is the one that sets this figure."""
    item = now.case.current
    asking = now.case.state in (State.ASKING, State.CHECKING)
    return asking and item is not None and item.figure == figure


def confirm_weight_again(now: Moment) -> Steps:
    """Before any dose, when it is in doubt: the weight that was known is read back anew."""
    if now.case.known.weight_kg is not None:
        yield from ask_weight_again(now)
        yield from go_on(now)


def ask_weight_again(now: Moment) -> Steps:
    """The same, but for the words of the read-back itself, which come as it goes on."""
    known_kg = now.case.known.weight_kg
    if known_kg is not None:
        yield Line(now.says.weight_again, "weight-again")
        unit = _unit(now, "weight_kg")
        number = now.tongue.terms.quantity.format(number=now.say(known_kg), unit=unit)
        yield from _take_down(now, "weight_kg", known_kg, number)


def possible_for(now: Moment, item: NumberItem) -> tuple[float, float]:
    """From where to where it may be answered: its own range and, of a figure, an adult's."""
    low, high = item.low, item.high
    if item.sets is not None:
        span = _adults(now, item.sets)
        if span is not None:
            low, high = max(low, float(span.low)), min(high, float(span.high))
    return low, high


def only_possible(now: Moment, item: NumberItem, number: int | Decimal) -> Steps:
    """Refuse a number that the item cannot have."""
    span = None if item.sets is None else _adults(now, item.sets)
    if item.sets and span is not None and isinstance(number, int) and not span.holds(number):
        yield from _heard_number(now, item.sets, number)
        return
    low, high = possible_for(now, item)
    text = filled(
        now.says.out_of_range,
        number=now.say(number),
        low=now.say(exactly(low)),
        high=now.say(exactly(high)),
        unit=item.unit,
    )
    yield from tell(now, Line(text, "out-of-range", item.id))


def _adults(now: Moment, figure: NumberFigure) -> Span | None:
    """An adult's weights, heights or ages; of another figure there are none."""
    span: Span | None = getattr(now.site.formulary.adults, figure, None)
    return span


def _number(
    now: Moment,
    reading: Reading,
    figure: NumberFigure,
    slot: str,
) -> Steps:
    number = int(reading.values[slot])
    numbers = now.tongue.numbers
    if must_be_spelt(
        number,
        slot,
        reading,
        lambda other: _is_possible(now, figure, int(other)),
        numbers,
    ):
        yield from _ask_digits(now, figure)
        return
    yield from _heard_number(now, figure, number)


def _heard_number(now: Moment, figure: NumberFigure, number: int) -> Steps:
    span, terms = _adults(now, figure), now.tongue.terms
    unit = _unit(now, figure)
    if span is not None and not span.holds(number):
        heard = terms.i_heard.format(number=now.say(number))
        text = f"{heard} {only_adults(_FIGURES[figure], span, unit, now.tongue)}"
        if _is_read_back(now, figure):
            yield Happened(FactRefused(figure=figure), f"{_FIGURES[figure]}: not taken")
        if now.case.state is State.QUOTING and figure in ("weight_kg", "age_years"):
            yield from keep_open_question(now)
            yield Happened(DoseDropped(), f"{_FIGURES[figure]}: {number} is no adult's")
        yield Happened(FigureOutside(figure=figure), f"{_FIGURES[figure]}: {number} is no adult's")
        yield Line(text, "out-of-range")
        if _is_waited_for(now, figure):
            yield from confirm_weight_again(now)
        else:
            yield from go_on(now)
        return
    if not _is_possible(now, figure, number):
        if _is_read_back(now, figure):
            yield Happened(FactRefused(figure=figure), f"{_FIGURES[figure]}: not taken")
        yield from only_possible(now, _asking(now, figure)[0], number)
        return
    yield from _heard(now, figure, number, terms.quantity.format(number=now.say(number), unit=unit))


def _is_read_back(now: Moment, figure: NumberFigure) -> bool:
    """Whether another one of it awaits its yes, which is not so by now."""
    fact = now.case.known.fact
    return now.case.state is State.STATING and fact is not None and fact.figure == figure


def keep_open_question(now: Moment) -> Steps:
    """A drug that awaits its yes waits for what is told meanwhile: it may go by that."""
    quote = now.case.known.quote
    if now.case.state is State.QUOTING and quote is not None:
        yield from keep_dose_question(now, understood=quote.check is not None)


def _is_waited_for(now: Moment, figure: Figure) -> bool:
    """Whether a weight is in doubt by which a dose is awaited, or the drugs are to be given."""
    in_doubt = figure == "weight_kg" and now.case.known.weight_in_doubt
    awaited = bool(now.case.known.still_awaited(now.present.now_s))
    return in_doubt and (awaited or now.case.state is State.PAUSING)


def _is_possible(now: Moment, figure: NumberFigure, number: int) -> bool:
    """An adult's; of a pressure, one that the item that asks for it may be answered with."""
    span = _adults(now, figure)
    if span is not None:
        return span.holds(number)
    asking = _asking(now, figure)
    return not asking or any(one.low <= number <= one.high for one in asking)


def _unit(now: Moment, figure: NumberFigure) -> str:
    """Its name, in the plural; of a pressure as the item has it that asks for one."""
    if figure in UNIT_NAMES:
        return now.tongue.terms.units.named(UNIT_NAMES[figure]).many
    return next((one.unit for one in _asking(now, figure)), "")


def _asking(now: Moment, figure: NumberFigure) -> list[NumberItem]:
    return [one for one in now.case.brief.asking_for(figure) if isinstance(one, NumberItem)]


def _heard(now: Moment, figure: Figure, value: Value, spoken: str) -> Steps:
    yield from _take_down(now, figure, value, spoken)
    yield from go_on(now)


def _take_down(now: Moment, figure: Figure, value: Value, spoken: str) -> Steps:
    """What was told awaits its yes, as the answer to the item that is asked or by itself."""
    text = f"{called(figure)}: {spoken}?"
    yield from keep_open_question(now)
    if _is_asked(now, figure):
        heard = ValueHeard(value=value, spoken=spoken)
        yield Happened(heard, text, now.case.known.current)
    else:
        yield Happened(FactHeard(figure=figure, value=value, spoken=spoken), text)
