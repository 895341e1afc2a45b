"""The words that await an answer in each state."""

from assistant.brief.items import AnyItem, ChooseItem, NumberItem, Option
from assistant.brief.known import Fact, Mixing, Quote, Standing
from assistant.brief.situation import Desk
from assistant.brief.states import State
from assistant.language.tongue import ENGLISH, Tongue
from assistant.speaking.mouth import Line, Urgency

AWAITING = ("ask", "say-how", "read-back", "digits", "quote", "check", "mix", "closing")
"""Tags of the lines after which the assistant waits for an answer."""
UNIT_NAMES = {"weight_kg": "kilogram", "height_cm": "centimetre", "age_years": "year"}
"""The patient's figures that are numbers, with their units by the names of the site's terms."""


def prompt(desk: Desk) -> Line | None:
    """The line that awaits an answer in the present state, if one does."""
    case, known = desk.case, desk.case.known
    line = None
    if case.state is State.ASKING and case.current is not None:
        line = Line(question(desk, case.current), "ask", case.current.id, Urgency.ASK)
    elif case.state is State.CHECKING and case.current is not None:
        line = Line(read_back(desk, case.current), "read-back", case.current.id)
    elif case.state is State.QUOTING and known.quote is not None:
        line = _quote(desk, known.quote)
    elif case.state is State.STATING and known.fact is not None:
        line = _fact(desk, known.fact)
    elif case.state is State.MIXING and known.mixing is not None:
        line = _mixing(desk, known.mixing)
    elif case.state is State.CLOSING:
        line = Line(desk.says.end_case, "closing")
    return line


def _quote(desk: Desk, quote: Quote) -> Line:
    use = desk.site.formulary.entry(quote.drug)
    if quote.check is not None:
        checks = {f"{use.drug.id}:{one.id}": one.ask for one in use.indication.ask_before}
        return Line(checks[quote.check], "check")
    drug = use.indication.said[0] if "/" in quote.drug else use.drug.called
    if quote.weight_kg is None:
        return Line(desk.filled(desk.says.dose_drug_read_back, drug=drug), "quote")
    number = desk.say(quote.weight_kg)
    digits = desk.tongue.numbers.say_digits(quote.weight_kg)
    text = desk.filled(desk.says.dose_read_back, drug=drug, number=number, digits=digits)
    return Line(text, "quote")


def _fact(desk: Desk, fact: Fact) -> Line:
    if fact.value is None:
        return Line(desk.says.ask_digits, "digits")
    unit = unit_of(desk.tongue, fact.figure)
    if unit is None:
        return Line(desk.filled(desk.says.read_back, value=fact.spoken), "read-back")
    return Line(_number_read_back(desk, int(fact.value), unit), "read-back")


def _mixing(desk: Desk, mixing: Mixing) -> Line:
    steps = recipe_steps(desk, mixing.drug)
    text = desk.filled(
        desk.says.mix_step,
        number=desk.say(mixing.step + 1),
        count=desk.say(len(steps)),
        step=steps[mixing.step],
    )
    return Line(text, "mix")


def recipe_steps(desk: Desk, key: str) -> tuple[str, ...]:
    """What to do to make the preparation of a drug; nothing when it is given as supplied."""
    drug, use = desk.site.formulary.entry(key)
    preparation = drug.preparation(use)
    recipe = preparation.recipe
    return () if recipe is None else recipe.steps(drug.called, preparation.strength, desk.tongue)


def unit_of(tongue: Tongue, figure: str) -> str | None:
    """The unit of one of the patient's figures, as it is spoken; None when it is no number."""
    unit = UNIT_NAMES.get(figure)
    return None if unit is None else tongue.terms.units.named(unit).many


def _number_read_back(desk: Desk, number: int, unit: str) -> str:
    return desk.filled(
        desk.says.read_back_number,
        number=desk.say(number),
        digits=desk.tongue.numbers.say_digits(number),
        unit=unit,
    )


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
        return _number_read_back(desk, int(pending.value), item.unit)
    return desk.filled(desk.says.read_back, value=pending.spoken)


def spoken_value(desk: Desk, item: AnyItem, value: str | float) -> str:
    if isinstance(item, NumberItem):
        return desk.tongue.terms.quantity.format(number=desk.say(int(value)), unit=item.unit)
    roster = desk.site.brief.roster
    options: tuple[Option, ...] = item.options if isinstance(item, ChooseItem) else roster
    return next(option.called for option in options if option.id == value)


def say_time(seconds: int, tongue: Tongue = ENGLISH) -> str:
    """A length of time for the ear: "three minutes", "ninety seconds"."""
    if seconds % 60 or seconds < 120:
        return tongue.say_quantity(seconds, "second")
    return tongue.say_quantity(seconds // 60, "minute")
