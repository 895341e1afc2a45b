"""A yes or a no to what was told about the patient and read back."""

from assistant.brief.dose_questions import awaited_dose
from assistant.brief.events.asides import FactRefused, FactTaken
from assistant.brief.events.asking import Deferred
from assistant.brief.going_on import ask, ask_next, go_on, go_on_with_what_opened
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import called
from assistant.brief.states import State
from assistant.brief.told_doses import look_again
from assistant.brief.unsettled import Fact
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
    yield from look_again(now, allergen=str(fact.value) if fact.figure == "allergies" else None)
    item = now.case.current
    if item is not None and _is_low_instead(now, item, fact):
        left = Deferred(item=item.id, left_open=True)
        yield Happened(left, f"{item.label}: too low for a number", item.id)
        yield from awaited_dose(now, fact.figure) or ask_next(now)
    else:
        yield from awaited_dose(now, fact.figure) or go_on_with_what_opened(now)


def refuse_fact(now: Moment, _: Reading) -> Steps:
    """A no to it; where that was the weight that is known from before a restart, it is asked."""
    fact, from_before = now.case.known.fact, now.case.known.weight_in_doubt
    if fact is not None:
        yield Happened(FactRefused(figure=fact.figure), f"{called(fact.figure)}: refused")
        yield Line(now.says.refused_value, "refused")
    weight = _weight_to_ask(now) if from_before else None
    if fact is not None and fact.figure == "weight_kg" and weight is not None:
        yield from ask(now, weight)
    else:
        yield from go_on(now)


def _weight_to_ask(now: Moment) -> AnyItem | None:
    asks = now.case.state in (State.ASKING, State.PAUSING, State.READY)
    still_open = now.case.with_standing(Standing.OPEN) if asks else []
    return next((one for one in still_open if one.figure == "weight_kg"), None)


def _is_low_instead(now: Moment, item: AnyItem, fact: Fact) -> bool:
    """Whether a low pressure was told where its number is asked for, which nobody has then."""
    by_number = isinstance(item, NumberItem) and item.sets == "pressure_mmhg"
    asked = by_number and now.case.state is State.ASKING
    return asked and fact.figure == "low_pressure" and fact.value is True
