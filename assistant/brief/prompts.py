"""The words that await an answer in each state."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Final

from assistant.brief.agenda import leaves_breathing, was_told_low
from assistant.brief.confirmed_items import CONFIRMED, VentilatorItem
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Moment
from assistant.brief.states import COMMANDS_IN_DOUBT, State
from assistant.brief.unsettled import Figure, Value
from assistant.brief.valued_items import NumberItem, number_read_back
from assistant.brief.ventilating import depth_words, ventilator_words
from assistant.dosing.weights import is_likely_body
from assistant.language.tongue import Tongue, exactly
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.sentences import as_sentence, filled

HOLDING: Final = "held"
"""The tag of the line after which it waits for nothing but to be told to go on."""
UNIT_NAMES = {"weight_kg": "kilogram", "height_cm": "centimetre", "age_years": "year"}
"""The patient's figures that are numbers, with their units by the names of the site's terms."""


def prompt(now: Moment, *, whole: bool = False) -> Line | None:
    """The line that awaits an answer in the present state, if one does.

    Of an item that is asked again, what was read aloud before its question is left out, unless
    `whole`: a plan takes a quarter of a minute.
    """
    if now.case.state is State.ASKING:
        return _asked(now, whole=whole)
    say = _PROMPTS.get(now.case.state)
    return None if say is None else say(now)


def question(now: Moment, item: AnyItem, *, short: bool = False) -> str:
    """How an item is asked now; in full, unless `short`."""
    text = item.question(due=now.case.standing(item) is Standing.DUE, short=short)
    return f"{ventilator_words(now)} {text}" if isinstance(item, VentilatorItem) else text


def ask_clearance(now: Moment) -> str:
    """What ends the pause: to give the drugs, or to begin where none are given before the tube."""
    says = now.site.wording.pause
    return says.ask_to_begin if leaves_breathing(now.case) else says.ask


def _asked(now: Moment, *, whole: bool) -> Line | None:
    item = now.case.current
    if item is None:
        return None
    if whole or isinstance(item, VentilatorItem):  # its numbers are what is asked after
        text = question(now, item)
    else:
        text = item.question_shown(due=now.case.standing(item) is Standing.DUE)
    return Line(text, "ask", item.id, Urgency.ASK)


def _value(now: Moment) -> Line | None:
    item, pending = now.case.current, now.case.known.pending
    if item is None or pending is None:
        return None
    text = item.read_back(pending.value, pending.spoken, now.says, now.tongue)
    told = now.case.known.items[item.id].told
    if pending.value == CONFIRMED and told is not None and was_told_low(now.case, item):
        text = filled(now.says.low_told_before, value=now.say(exactly(told)))
    unusual = _unusual_body(now, item.figure, pending.value) or _unusual_depth(now, item)
    text = f"{unusual}{as_sentence(text)}"
    return Line(text, "yes" if item.confirmed else "read-back", item.id)


def _dose_question(now: Moment) -> Line | None:
    quote = now.case.known.quote
    if quote is None:
        return None
    use = now.site.formulary.entry(quote.drug)
    if quote.check is not None:
        checks = {f"{use.drug.id}:{one.id}": one.ask for one in use.indication.ask_before}
        return Line(checks[quote.check], "check")
    drug = use.indication.said[0] if "/" in quote.drug else use.drug.called
    others = now.site.formulary.sound_like(use.drug)
    if others:
        terms = now.tongue.terms.dose
        drug = terms.apart.format(drug=drug, others=f" {terms.nor} ".join(others))
    if quote.weight_kg is None:
        return Line(filled(now.says.dose_drug_read_back, drug=drug), "quote")
    number = now.say(quote.weight_kg)
    digits = now.tongue.numbers.say_digits(quote.weight_kg)
    text = filled(now.says.dose_read_back, drug=drug, number=number, digits=digits)
    return Line(text, "quote")


def _fact(now: Moment) -> Line | None:
    fact = now.case.known.fact
    if fact is None:
        return None
    if fact.value is None:
        return Line(now.says.ask_digits, "digits")
    unit = unit_of(now.tongue, fact.figure)
    if unit is None:
        return Line(filled(now.says.read_back, value=fact.spoken), "read-back")
    text = number_read_back(int(fact.value), unit, now.says, now.tongue)
    return Line(f"{_unusual_body(now, fact.figure, fact.value)}{as_sentence(text)}", "read-back")


def _unusual_body(now: Moment, figure: Figure | None, value: Value) -> str:
    """A sentence before the read-back of a weight or height that hardly fits the other one."""
    known = now.case.known
    if figure == "weight_kg" and known.height_cm is not None:
        weight_kg, height_cm, other = int(value), known.height_cm, "height_cm"
    elif figure == "height_cm" and known.weight_kg is not None:
        weight_kg, height_cm, other = known.weight_kg, int(value), "weight_kg"
    else:
        return ""
    if is_likely_body(Decimal(weight_kg), Decimal(height_cm)):
        return ""
    number = now.say(height_cm if other == "height_cm" else weight_kg)
    terms = now.tongue.terms
    with_it = terms.quantity.format(number=number, unit=unit_of(now.tongue, other))
    return f"{filled(terms.unusual_body, other=with_it)} "


def _unusual_depth(now: Moment, item: AnyItem) -> str:
    """The same for a tube's depth that is far from what the height suggests."""
    pending = now.case.known.pending
    if pending is None or not (isinstance(item, NumberItem) and item.by_height):
        return ""
    suggested = depth_words(now, Decimal(str(pending.value)))
    return f"{suggested} " if suggested else ""


def _recipe(now: Moment) -> Line | None:
    mixing = now.case.known.mixing
    if mixing is None:
        return None
    steps = recipe_steps(now, mixing.drug)
    text = filled(
        now.says.mix_step,
        number=now.say(mixing.step + 1),
        count=now.say(len(steps)),
        step=steps[mixing.step],
    )
    return Line(text, "mix")


def _closing(now: Moment) -> Line | None:
    return Line(now.says.end_case, "closing")


def _doubt(now: Moment) -> Line | None:
    doubt = now.case.known.doubt
    if doubt is None:
        return None
    asked_back = now.site.wording.vital.asked_back
    if doubt.word in COMMANDS_IN_DOUBT:
        words = getattr(now.site.wording.may_be_said, doubt.word)[0]
        return Line(filled(now.says.confirm_read_back, item=words), "doubt")
    return Line(getattr(asked_back, doubt.word), "doubt")


def _same_patient(now: Moment) -> Line | None:
    return Line(now.site.wording.live.same_patient, "same-patient")


def _pause(now: Moment) -> Line | None:
    return Line(ask_clearance(now), "pause")


def _holding(now: Moment) -> Line | None:
    return None if now.case.known.held_quietly else Line(now.says.held, HOLDING)


_PROMPTS: Final[Mapping[State, Callable[[Moment], Line | None]]] = {
    State.CHECKING: _value,
    State.QUOTING: _dose_question,
    State.STATING: _fact,
    State.MIXING: _recipe,
    State.HELD: _holding,
    State.CLOSING: _closing,
    State.DOUBTING: _doubt,
    State.IDENTIFYING: _same_patient,
    State.PAUSING: _pause,
}


def recipe_steps(now: Moment, key: str) -> tuple[str, ...]:
    """What to do to make the preparation of a drug; nothing when it is given as supplied."""
    drug, use = now.site.formulary.entry(key)
    preparation = drug.preparation(use)
    recipe = preparation.recipe
    return (
        ()
        if recipe is None
        else recipe.steps(drug.called, preparation.strength, drug.supplied, now.tongue)
    )


def unit_of(tongue: Tongue, figure: str) -> str | None:
    """The unit of one of the patient's figures, as it is spoken; None when it is no number."""
    unit = UNIT_NAMES.get(figure)
    return None if unit is None else tongue.terms.units.named(unit).many


def say_time(seconds: int, tongue: Tongue) -> str:
    """A length of time for the ear: "three minutes", "ninety seconds"."""
    if seconds % 60 or seconds < 120:
        return tongue.say_quantity(seconds, "second")
    return tongue.say_quantity(seconds // 60, "minute")


def say_elapsed(seconds: float, tongue: Tongue) -> str:
    """Elapsed time for the ear: "forty seconds", "two minutes, five seconds"."""
    minutes, rest = divmod(max(0, round(seconds)), 60)
    parts = [tongue.say_quantity(minutes, "minute")] if minutes else []
    if rest or not minutes:
        parts.append(tongue.say_quantity(rest, "second"))
    return ", ".join(parts)
