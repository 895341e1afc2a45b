"""A yes or a no to what was told about the patient and read back."""

from assistant.brief.dose_questions import awaited_dose, go_on_with_doses
from assistant.brief.doses_awaited import keep_dose_question
from assistant.brief.events.asides import DoseDropped, FactRefused, FactTaken, FigureDisputed
from assistant.brief.events.asking import Deferred, ValueRefused
from assistant.brief.going_on import ask, go_on, go_on_with_what_opened
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import called
from assistant.brief.states import State
from assistant.brief.told_doses import look_again
from assistant.brief.unsettled import Fact, Figure
from assistant.brief.valued_items import NumberItem
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def take_fact(now: Moment, _: Reading) -> Steps:
    """A yes to a fact that was read back: from now on it is known."""
    fact = now.case.known.fact
    if fact is None or fact.value is None:
        yield from go_on(now)
        return
    taken = FactTaken(figure=fact.figure, value=fact.value, spoken=fact.spoken)
    yield Happened(taken, f"{called(fact.figure)}: {fact.spoken}")
    yield Line(filled(now.says.noted, value=fact.spoken), "noted")
    allergen = str(fact.value) if fact.figure == "allergies" else None
    yield from look_again(now, allergen=allergen, weighed=fact.figure == "weight_kg")
    item = now.case.current
    if item is not None and _is_low_instead(now, item, fact):
        left = Deferred(item=item.id, left_open=True)
        yield Happened(left, f"{item.label}: too low for a number", item.id)
    yield from awaited_dose(now, fact.figure) or go_on_with_what_opened(now)


def refuse_fact(now: Moment, _: Reading) -> Steps:
    """A no to it. Where another weight or pressure is known that one is in doubt by now, and it is
    asked for."""
    known, fact = now.case.known, now.case.known.fact
    if fact is None:
        yield from go_on(now)
        return
    pressure_is_known = known.pressure_mmhg is not None or known.low_pressure is not None
    was_known = {"weight_kg": known.weight_kg is not None, "pressure_mmhg": pressure_is_known}
    yield Happened(FactRefused(figure=fact.figure), f"{called(fact.figure)}: refused")
    stands = _still_so(now, fact)
    text = filled(now.says.noted, value=stands) if stands else now.says.refused_value
    yield Line(text, "refused")
    if fact.value is not None and was_known.get(fact.figure):
        yield from _ask_anew(now, fact.figure)
    else:
        yield from go_on_with_doses(now)


def _still_so(now: Moment, fact: Fact) -> str:
    """What stays as it was told, where that it is not so was refused: "cancelled" says too little
    of an allergy. Empty where nothing stays."""
    value, known = str(fact.value), now.case.known
    if fact.figure == "allergy_denied" and value in known.allergies:
        allergen = now.site.formulary.allergen(value).called
        return now.tongue.terms.allergy.format(allergen=allergen)
    if fact.figure == "feature_denied" and known.value_of(value) is True:
        return now.site.brief.feature(value).called
    return ""


def weight_wrong(now: Moment, reading: Reading) -> Steps:
    """ "The weight is wrong": what is read back is refused, and what is known is in doubt."""
    item, fact = now.case.current, now.case.known.fact
    if now.case.state is State.STATING and fact is not None and fact.figure == "weight_kg":
        yield from refuse_fact(now, reading)
        return
    if now.case.state is State.CHECKING and item is not None and item.figure == "weight_kg":
        yield Happened(ValueRefused(), f"{item.label}: read back and refused", item.id)
    if now.case.state is State.QUOTING:
        yield from keep_dose_question(now)
        yield Happened(DoseDropped(), "its weight is wrong")
    yield Line(now.says.refused_value, "refused")
    yield from _ask_anew(now, "weight_kg")


def _ask_anew(now: Moment, figure: Figure) -> Steps:
    """Ask for a figure that is not as it was known; where something else is open, after that."""
    case, asking = now.case, now.case.brief.asking_for(figure)
    items = [one for one in asking if case.applies(one) and case.is_of_this_phase(one.id)]
    disputed = FigureDisputed(figure=figure, item=items[0].id if items else None)
    yield Happened(disputed, f"{called(figure)}: in doubt")
    known = case.known
    asks = case.state in (State.ASKING, State.PAUSING, State.READY)
    if items and asks and known.laid_aside is None and not known.interrupted:
        yield from ask(now, items[0])
    else:
        yield from go_on(now)


def _is_low_instead(now: Moment, item: AnyItem, fact: Fact) -> bool:
    """Whether a low pressure was told where its number is asked for, which nobody has then."""
    by_number = isinstance(item, NumberItem) and item.sets == "pressure_mmhg"
    asked = by_number and now.case.state is State.ASKING
    return asked and fact.figure == "low_pressure" and fact.value is True
