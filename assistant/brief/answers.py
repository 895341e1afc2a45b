"""Answers: what a confirmation, a decline or a value does to the item that is asked."""

from dataclasses import replace
from decimal import Decimal

from assistant.brief.agenda import label, next_item, told_of_still, was_told_low
from assistant.brief.attempt import begin_pacing, no_wave
from assistant.brief.bagging import bag_on
from assistant.brief.commands import back
from assistant.brief.confirmed_items import CONFIRMED, NOT_APPLICABLE, PaceItem, TimedItem
from assistant.brief.dose_questions import awaited_dose, correct_weight
from assistant.brief.events.asides import Ended, FigureDisputed, Held, KeptOpen
from assistant.brief.events.asking import (
    Answered,
    Asked,
    Deferred,
    Reopened,
    ValueHeard,
    ValueRefused,
)
from assistant.brief.going_on import ask_next, enter, go_on, run_clock, stop_counting
from assistant.brief.item import PUT_OFF, Standing
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
from assistant.brief.seen import seen_instead
from assistant.brief.states import State
from assistant.brief.told_doses import look_again
from assistant.brief.valued_items import NumberItem, OxygenItem, QuantityItem
from assistant.grammar.readings import Reading, Verdict
from assistant.language.doubt import may_be_another, must_be_spelt
from assistant.language.numbers_in_text import numbers_in
from assistant.language.tongue import exactly
from assistant.oximeter.crossing import MOST_PERCENT
from assistant.speaking.mouth import Line, Urgency

SECOND_THOUGHT_S = 5.0
"""Whoever thinks better of an answer says so within this time after the next item came up: its call
lasts one to three seconds, and for so long nobody is heard. Common practice, no source."""
INSTEAD_S = 45.0
"""The same for "no, ninety", which nobody begins an answer with: the number was said back before
the next call, and a dose may have been told in between. Common practice, no source."""
LEAST_PERCENT = 40
"""A lower number that is told of nothing is no saturation. Common practice, no source."""
NOT_YET_FOR_S = 10.0
"""A wave may need a breath or two to be seen: two "not yet" within this time are one. Common
practice, no source."""


def answer_item(now: Moment, reading: Reading) -> Steps:
    """A confirmation of the item that is asked; of a vital one a plain yes is read back first."""
    item = now.case.current
    if item is None or not item.confirmed:
        return
    doubted = item.doubts_a_plain_yes or was_told_low(now.case, item)
    if reading.meaning == "plain_yes" and doubted:
        yield from read_value_back(now, reading)
    else:
        yield from _take(now, item, CONFIRMED, CONFIRMED)


def take_late(now: Moment, reading: Reading) -> Steps:
    """What was put off is so by now: read back by its name, as something else is asked. A choice
    that is told before its question is taken as it is after it."""
    item = now.case.item(str(reading.values["late"]))
    told = reading.values.get("number")
    if isinstance(item, OxygenItem) and told is not None and not _may_be_a_saturation(told):
        return  # of a pulse or a dose
    yield Happened(Asked(item=item.id), f"{label(item)}, told out of turn", item.id)
    chosen = next((one for one in ("choose", "name") if one in reading.values), None)
    if chosen is not None:
        choice = replace(reading, meaning=chosen)
        sure = reading.verdict is Verdict.ACCEPT
        yield from choose_or_name(now, choice) if sure else read_value_back(now, choice)
        return
    if isinstance(item, OxygenItem) and reading.text in item.given_up_by:
        yield from bag_on(now, item, hopeless=True)
        return
    if isinstance(item, QuantityItem) and told is not None:
        number = replace(reading, meaning="number")
        bare = not reading.text.endswith(tuple(item.units_heard))  # it may be of something else
        back = isinstance(item, OxygenItem) and bare and item.wants(float(told))
        yield from read_value_back(now, number) if back else _quantity(now, item, number)
        return
    spoken = reading.text if reading.text in item.told_with_a_no else label(item)
    heard = ValueHeard(value=CONFIRMED, spoken=spoken)
    yield Happened(heard, f"{label(item)}: {reading.text}?", item.id)
    yield from go_on(now)


def _may_be_a_saturation(number: str | float) -> bool:
    return LEAST_PERCENT <= float(number) <= MOST_PERCENT


def not_applicable(now: Moment, _: Reading) -> Steps:
    """The item does not apply to this patient, and is recorded so."""
    item = now.case.current
    if item is not None and item.own_exceptions:
        yield from _take(now, item, NOT_APPLICABLE, now.says.not_applicable)


def take_value(now: Moment, _: Reading) -> Steps:
    """A yes to the answer that was read back."""
    item, pending = now.case.current, now.case.known.pending
    if item is not None and pending is not None:
        yield from _take(now, item, pending.value, pending.spoken)


def _take(now: Moment, item: AnyItem, value: str | float, spoken: str) -> Steps:
    percent = seen_instead(now, item)
    if percent is not None and value != NOT_APPLICABLE:
        yield from _not_wanted(now, item, percent, now.say(percent), now.says.seen_instead)
        return
    if isinstance(item, OxygenItem) and not isinstance(value, str) and not item.wants(value):
        yield from _still_low(now, item, value)
        return
    if not item.wants(value):
        yield from _not_wanted(now, item, value, spoken, now.says.not_wanted)
        return
    due = now.case.standing(item) is Standing.DUE
    answered = Answered(item=item.id, value=value, spoken=spoken)
    yield Happened(answered, f"{label(item)}: {spoken}", item.id)
    if isinstance(item, OxygenItem):
        yield from stop_counting(now, item.clock)
    if value == NOT_APPLICABLE:
        pass  # nothing begins by it
    elif isinstance(item, PaceItem):
        yield from begin_pacing(now)
    elif isinstance(item, TimedItem) and not due:
        yield from run_clock(now, item, item.lasts_s)
    elif item.noted or not isinstance(value, str):
        yield Line(now.filled(now.says.noted, value=spoken), "noted", item.id)
    yield from look_again(now)
    phase = item.leads(value)
    if phase is None:
        yield from awaited_dose(now, item.figure) or ask_next(now)
    else:
        yield from enter(now, phase)


def take_seen(now: Moment, item: OxygenItem, percent: int) -> Steps:
    """What the watcher sees of it settles it, or shows when its time has come that it is not
    back."""
    if now.case.current is not item:
        yield Happened(Asked(item=item.id), f"{label(item)}, as it is seen", item.id)
    if item.wants(percent):
        yield from _take(now, item, percent, _spoken(now, item, percent))
    else:
        yield from _still_low(now, item, percent)


def _still_low(now: Moment, item: OxygenItem, percent: float) -> Steps:
    """Nobody who bags has to hear again what is wanted."""
    number = now.say(exactly(float(percent)))
    yield Line(now.filled(now.says.noted, value=number), "noted", item.id)
    yield from bag_on(now, item, percent)


def _not_wanted(now: Moment, item: AnyItem, value: str | float, spoken: str, says: str) -> Steps:
    """A number that is not the wanted one: said back with that, and the item stays open.

    Of a pressure that is low, that is said. Of a range the ends that its question names: nobody
    asks for a hundred percent "or less".
    """
    ends, named = item.wanted or (), numbers_in(item.ask, now.tongue.numbers)
    asked = {one.number for one in named}.intersection(ends) or ends
    both = [now.say(exactly(one)) for one in sorted(asked)]
    terms = now.tongue.terms
    wanted = terms.from_to.format(low=both[0], high=both[-1]) if len(both) > 1 else both[0]
    text = now.filled(says, value=spoken, wanted=wanted)
    if item.told_by(value).get("low_pressure"):
        noted = now.filled(now.says.noted, value=spoken)
        text = f"{noted} {now.site.wording.pause.low_pressure}"
    yield Line(text, "not-wanted", item.id)
    yield from put_off(now, item, told=None if isinstance(value, str) else value)


def refuse_value(now: Moment, _: Reading) -> Steps:
    """A no to the answer that was read back: it is asked once more, in few words where it has
    them."""
    item, pending = now.case.current, now.case.known.pending
    if item is None:
        return
    if pending is not None and pending.spoken in item.told_with_a_no:
        yield Happened(ValueRefused(), f"{label(item)}: read back and refused", item.id)
        yield from put_off(now, item)
    else:
        yield Happened(ValueRefused(), f"{label(item)}: read back and refused", item.id)
        yield Line(now.says.refused_value, "refused", item.id)
        if now.case.standing(item) in PUT_OFF:
            yield from ask_next(now)
        elif now.short and item.call and now.case.standing(item) is Standing.OPEN:
            yield Line(item.call, "ask", item.id, Urgency.ASK)
        else:
            yield from go_on(now)


def put_off_item(now: Moment, reading: Reading) -> Steps:
    """ "Not yet": it is asked again, mostly at the end of its section, then stays open.

    But words that nobody begins an answer with take back the one before, when they follow at once;
    and a mere "no" where "no allergies" is a yes may be that, cut short: it is asked back.
    """
    item = now.case.current
    if item is None:
        return
    begun = [one for one in item.told_with_a_no if one.startswith(f"{reading.text} ")]
    if begun:
        heard = ValueHeard(value=CONFIRMED, spoken=begun[0])
        yield Happened(heard, f"{label(item)}: {begun[0]}?", item.id)
        yield from go_on(now)
        return
    if reading.text in now.site.wording.may_be_said.takes_back and _has_just_come_up(now, item):
        yield from back(now, reading)
    elif isinstance(item, OxygenItem) and reading.text in item.given_up_by:
        yield from bag_on(now, item, hopeless=True)
    else:
        yield from put_off(now, item)


def _has_just_come_up(now: Moment, item: AnyItem) -> bool:
    """Whether what is said now may still be about the item before, which was said to be so."""
    known = now.case.known
    if known.asked_s is None or now.present.now_s - known.asked_s > SECOND_THOUGHT_S:
        return False
    said_to_be_so = (Standing.DONE, Standing.RUNNING)
    settled = any(known.items[before].standing in said_to_be_so for before in known.trail[-1:])
    return settled and not item.denied_by_decline(now.case.standing(item))


def put_off(now: Moment, item: AnyItem, *, told: float | None = None, named: bool = False) -> Steps:
    """An item is not so yet, or nobody answers an offer; `told`: the number that was not wanted;
    `named`: it is not the one that is asked, so say which it is."""
    if isinstance(item, OxygenItem):
        yield from bag_on(now, item, told)
        return
    standing = now.case.standing(item)
    put_off_s = now.case.known.items[item.id].put_off_s
    lately = put_off_s is not None and now.present.now_s - put_off_s < NOT_YET_FOR_S
    if item.denied_by_decline(standing) and not lately:
        yield from no_wave(now, item)
        return
    deferred = Deferred(item=item.id, left_open=_is_left_open(now, item), told=told)
    yield Happened(deferred, f"{label(item)}: not yet", item.id)
    yield from look_again(now) if told is not None else ()
    if standing is Standing.DUE and isinstance(item, TimedItem) and not item.asked_at_once:
        yield from run_clock(now, item, item.again_after_s, again=True)
    elif item.offered or item.asked_at_once:
        pass  # an offer that is not wanted is settled; the other is asked again now
    elif item.if_not is not None and standing is Standing.OPEN:
        yield Line(item.if_not, "if-not", item.id)
    elif named:
        yield Line(now.filled(now.says.not_so, item=label(item)), "deferred", item.id)
    elif deferred.left_open or standing is not Standing.OPEN:
        yield Line(now.says.outstanding, "outstanding", item.id)
    else:
        yield Line(now.says.deferred, "deferred", item.id)
    yield from ask_next(now)


def _is_left_open(now: Moment, item: AnyItem) -> bool:
    """Whether an item that is put off is named with what is open, in place of being asked again:
    nothing else is left to ask meanwhile."""
    would_wait = item.after_decline(now.case.standing(item)) is Standing.DEFERRED
    return would_wait and not item.asked_at_once and next_item(now.case, but=item) is None


def bare_yes(now: Moment, _: Reading) -> Steps:
    """Nothing is confirmed; what would be is told."""
    case, said = now.case, now.site.wording.may_be_said
    item, yes = case.current, said.confirm[0]
    if item is not None and item.telling_only and case.state is State.ASKING:
        yes = (*item.told_plainly, *item.telling_answers)[0]
    line = now.filled(now.says.bare_yes, yes=yes, no=said.decline[0])
    yield Line(line, "say-how", case.known.current)


def close_case(now: Moment, _: Reading) -> Steps:
    """A yes to whether the case is over. Where nobody has said that it is still the same patient,
    it is another one, and whoever has the sound opens a new case."""
    another = now.case.known.patient_in_doubt
    text = "another patient: the case is ended" if another else "the case is ended"
    yield Happened(Ended(another_patient=another), text)
    yield Line(now.says.ended, "ended")


def keep_case_open(now: Moment, _: Reading) -> Steps:
    """A no to it."""
    silent = now.case.known.closed_in_silence
    yield Happened(KeptOpen(), "the case goes on")
    yield Line(now.says.kept_open, "kept-open")
    if silent:  # an arrest is not over by it
        yield Happened(Held(quiet=True), "silent as before")
        return
    yield from go_on(now)


def number(now: Moment, reading: Reading) -> Steps:
    """A number for the item that is asked, or the digits of a fact.

    One that is too easily another is asked for digit by digit, and one that the item cannot have
    is refused, before it is read back.
    """
    item, before = now.case.current, _corrected(now, reading)
    if before is not None:
        yield Happened(Reopened(item=before.id), f"{label(before)}: another number", before.id)
        yield Happened(Asked(item=before.id), label(before), before.id)
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
            yield Happened(FigureDisputed(figure="weight_kg"), f"{label(disputed)}: in doubt")
        yield Line(now.says.say_again, "again", now.case.known.current)


def _number(now: Moment, item: AnyItem, reading: Reading) -> Steps:
    if told_in_pounds(now) and item.figure == "weight_kg":
        yield from other_pounds(now, reading)
    elif isinstance(item, QuantityItem):
        yield from _quantity(now, item, reading)
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
            yield from _take(now, item, _stored(heard), _spoken(now, item, _stored(heard)))
        else:
            yield from read_value_back(now, reading)


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


def pressure_told(now: Moment, reading: Reading) -> Steps:
    """The systolic pressure: the answer to the item that asks whether it holds, else a fact."""
    item = now.case.current
    asks = isinstance(item, QuantityItem) and item.number_figure == "pressure_mmhg"
    if isinstance(item, QuantityItem) and asks and now.case.state is State.ASKING:
        values = {"number": reading.values["systolic"]}
        yield from _quantity(now, item, replace(reading, meaning="number", values=values))
    else:
        yield from pressure(now, reading)


def _quantity(now: Moment, item: QuantityItem, reading: Reading) -> Steps:
    """A number that is checked at once when it was heard for sure, and else read back first."""
    heard, numbers = exactly(float(reading.values["number"])), now.tongue.numbers
    value = _stored(heard)
    if isinstance(item, OxygenItem) and not _may_be_a_saturation(value):
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
        yield from _take(now, item, value, _spoken(now, item, value))
    else:
        yield from read_value_back(now, reading)


def read_value_back(now: Moment, reading: Reading) -> Steps:
    """An answer that is read back before it counts."""
    item = now.case.current
    if item is not None:
        value = reading.values.get(reading.meaning, CONFIRMED)
        spoken = reading.text if value == CONFIRMED else _spoken(now, item, value)
        yield Happened(ValueHeard(value=value, spoken=spoken), f"{label(item)}: {spoken}?", item.id)
        yield from go_on(now)


def choose_or_name(now: Moment, reading: Reading) -> Steps:
    """A choice or a role: it settles the item at once, and is said back as noted.

    What becomes a figure of the patient is read back first, as all of those are.
    """
    item = now.case.current
    if item is not None and item.figure is None and now.case.state is State.ASKING:
        value = reading.values[reading.meaning]
        yield from _take(now, item, value, _spoken(now, item, value))
    else:
        yield from read_value_back(now, reading)


def _stored(heard: int | Decimal) -> int | float:
    """A number as the record holds it."""
    return heard if isinstance(heard, int) else float(heard)


def _spoken(now: Moment, item: AnyItem, value: str | float) -> str:
    return item.spoken(value, now.site.brief.roster, now.tongue)
