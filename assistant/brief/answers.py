"""Answers: what a confirmation, a decline or a value does to the item that is asked."""

from assistant.brief.agenda import next_item, was_told_low
from assistant.brief.attempt import begin_pacing, no_wave
from assistant.brief.bagging import bag_on
from assistant.brief.commands import back
from assistant.brief.confirmed_items import CONFIRMED, NOT_APPLICABLE, PaceItem, TimedItem
from assistant.brief.dose_questions import awaited_dose
from assistant.brief.events.asking import (
    Answered,
    Asked,
    Deferred,
    ValueHeard,
    ValueRefused,
)
from assistant.brief.going_on import ask_next, enter, go_on, run_clock, stop_counting
from assistant.brief.item import PUT_OFF, Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.seen import seen_instead
from assistant.brief.states import State
from assistant.brief.told_doses import look_again
from assistant.brief.valued_items import OxygenItem
from assistant.grammar.readings import Reading
from assistant.language.numbers_in_text import numbers_in
from assistant.language.tongue import exactly
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.sentences import filled

SECOND_THOUGHT_S = 5.0
"""Whoever thinks better of an answer says so within this time after the next item came up: its call
lasts one to three seconds, and for so long nobody is heard. Common practice, no source."""
NOT_YET_FOR_S = 10.0
"""A wave may need a breath or two to be seen: two "not yet" within this time are one. Common
practice, no source."""


def answer_item(now: Moment, reading: Reading) -> Steps:
    """A confirmation of the item that is asked; of a vital one a plain yes is read back first."""
    item = now.case.current
    if item is None or not item.confirmed:
        return
    doubted = item.doubts_a_plain_yes or was_told_low(now.case, item)
    # Of one that is so no more, a mere yes may be one to whoever has just said that.
    doubted |= now.case.known.undone == item.id and not item.told_in(reading.text)
    if reading.meaning == "plain_yes" and doubted:
        yield from read_value_back(now, reading)
    else:
        yield from take(now, item, CONFIRMED, CONFIRMED)


def not_applicable(now: Moment, _: Reading) -> Steps:
    """The item does not apply to this patient, and is recorded so."""
    item = now.case.current
    if item is not None and item.own_exceptions:
        yield from take(now, item, NOT_APPLICABLE, now.says.not_applicable)


def take_value(now: Moment, _: Reading) -> Steps:
    """A yes to the answer that was read back."""
    item, pending = now.case.current, now.case.known.pending
    if item is not None and pending is not None:
        yield from take(now, item, pending.value, pending.spoken)


def take(now: Moment, item: AnyItem, value: str | float, spoken: str) -> Steps:
    """An item has that answer, and what begins by it does; but a number that is not wanted, or that
    is seen instead, leaves it open."""
    percent = seen_instead(now, item)
    if percent is not None and value != NOT_APPLICABLE:
        yield from _not_wanted(now, item, percent, now.say(percent), now.says.seen_instead)
        return
    if not isinstance(value, str) and not item.wants(value):
        if item.told_meanwhile:
            yield from _still_low(now, item, value)
        else:
            yield from _not_wanted(now, item, value, spoken, now.says.not_wanted)
        return
    due = now.case.standing(item) is Standing.DUE
    answered = Answered(item=item.id, value=value, spoken=spoken)
    yield Happened(answered, f"{item.label}: {spoken}", item.id)
    if item.told_meanwhile and item.waits_for is not None:
        yield from stop_counting(now, item.waits_for)
    if value == NOT_APPLICABLE:
        pass  # nothing begins by it
    elif isinstance(item, PaceItem):
        yield from begin_pacing(now)
    elif isinstance(item, TimedItem) and not due:
        yield from run_clock(now, item, item.lasts_s)
    elif item.noted or not isinstance(value, str):
        yield Line(filled(now.says.noted, value=spoken), "noted", item.id)
    yield from look_again(now, weighed=item.figure == "weight_kg")
    phase = item.leads(value)
    if phase is None:
        yield from awaited_dose(now, item.figure) or ask_next(now)
    else:
        yield from enter(now, phase)


def take_seen(now: Moment, item: AnyItem, percent: int) -> Steps:
    """What the watcher sees of it settles it, or shows when its time has come that it is not
    back."""
    if now.case.current is not item:
        yield Happened(Asked(item=item.id), f"{item.label}, as it is seen", item.id)
    if item.wants(percent):
        yield from take(now, item, percent, in_words(now, item, percent))
    else:
        yield from _still_low(now, item, percent)


def _still_low(now: Moment, item: AnyItem, percent: float) -> Steps:
    """Nobody who bags has to hear again what is wanted."""
    number = now.say(exactly(float(percent)))
    yield Line(filled(now.says.noted, value=number), "noted", item.id)
    yield from put_off(now, item, told=percent)


def _not_wanted(now: Moment, item: AnyItem, number: float, spoken: str, says: str) -> Steps:
    """A number that is not the wanted one: said back with that, and the item stays open.

    Of a pressure that is low, that is said. Of a range the ends that its question names: nobody
    asks for a hundred percent "or less".
    """
    ends, named = item.wanted or (), numbers_in(item.ask, now.tongue.numbers)
    asked = {one.number for one in named}.intersection(ends) or ends
    both = [now.say(exactly(one)) for one in sorted(asked)]
    terms = now.tongue.terms
    wanted = terms.from_to.format(low=both[0], high=both[-1]) if len(both) > 1 else both[0]
    text = filled(says, value=spoken, wanted=wanted)
    if item.told_by(number).get("low_pressure"):
        noted = filled(now.says.noted, value=spoken)
        text = f"{noted} {now.site.wording.pause.low_pressure}"
    yield Line(text, "not-wanted", item.id)
    yield from put_off(now, item, told=number)


def refuse_value(now: Moment, reading: Reading) -> Steps:
    """A no to the answer that was read back: it is asked once more, in few words where it has
    them; but not where the no tells in the item's own words that it is not so."""
    item, pending = now.case.current, now.case.known.pending
    if item is None:
        return
    its_own = reading.meaning == "decline" and reading.text.endswith(
        (*item.not_yet, *item.undone_by)
    )
    if its_own or (pending is not None and pending.spoken in item.told_with_a_no):
        yield Happened(ValueRefused(), f"{item.label}: read back and refused", item.id)
        yield from put_off(now, item)
    else:
        yield Happened(ValueRefused(), f"{item.label}: read back and refused", item.id)
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
    if item.told_with_a_no and _is_a_mere_no(now, reading.text):
        begins = (one for one in item.told_with_a_no if one.startswith(f"{reading.text} "))
        begun = next(begins, item.told_with_a_no[0])
        heard = ValueHeard(value=CONFIRMED, spoken=begun)
        yield Happened(heard, f"{item.label}: {begun}?", item.id)
        yield from go_on(now)
        return
    if reading.text in now.site.wording.may_be_said.takes_back and _has_just_come_up(now, item):
        yield from back(now, reading)
    else:
        yield from put_off(now, item, given_up=reading.text in item.given_up_by)


def _is_a_mere_no(now: Moment, words: str) -> bool:
    """Rather than a "later": with what a denial begins, or what denies a wave outright."""
    denials = {one for item in now.case.brief.items() for one in item.denied_plainly}
    begins = now.site.wording.may_be_said.no_first
    return words in begins or words in denials


def _has_just_come_up(now: Moment, item: AnyItem) -> bool:
    """Whether what is said now may still be about the item before, which was said to be so."""
    known = now.case.known
    if known.asked_s is None or now.present.now_s - known.asked_s > SECOND_THOUGHT_S:
        return False
    said_to_be_so = (Standing.DONE, Standing.RUNNING)
    settled = any(known.items[before].standing in said_to_be_so for before in known.trail[-1:])
    return settled and not item.denied_by_decline(now.case.standing(item))


def put_off(
    now: Moment,
    item: AnyItem,
    *,
    told: float | None = None,
    named: bool = False,
    given_up: bool = False,
) -> Steps:
    """An item is not so yet, or nobody answers an offer; `told`: the number that was not wanted;
    `named`: it is not the one that is asked, so say which it is; `given_up`: somebody has said that
    it will not be so."""
    if isinstance(item, OxygenItem):
        yield from bag_on(now, item, told, hopeless=given_up)
        return
    standing = now.case.standing(item)
    put_off_s = now.case.known.items[item.id].put_off_s
    lately = put_off_s is not None and now.present.now_s - put_off_s < NOT_YET_FOR_S
    if item.denied_by_decline(standing) and not lately:
        yield from no_wave(now, item)
        return
    if isinstance(item, TimedItem) and standing is Standing.OPEN:  # it was so, and is no more
        yield from stop_counting(now, item.clock)
    deferred = Deferred(item=item.id, left_open=_is_left_open(now, item), told=told)
    yield Happened(deferred, f"{item.label}: not yet", item.id)
    yield from look_again(now) if told is not None else ()
    if standing is Standing.DUE and isinstance(item, TimedItem) and not item.asked_at_once:
        yield from run_clock(now, item, item.again_after_s, again=True)
    elif item.offered or item.asked_at_once:
        pass  # an offer that is not wanted is settled; the other is asked again now
    elif item.if_not is not None and standing is Standing.OPEN:
        yield Line(item.if_not, "if-not", item.id)
    elif named:
        yield Line(filled(now.says.not_so, item=item.label), "deferred", item.id)
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
    line = filled(now.says.bare_yes, yes=yes, no=said.decline[0])
    yield Line(line, "say-how", case.known.current)


def read_value_back(now: Moment, reading: Reading) -> Steps:
    """An answer that is read back before it counts."""
    item = now.case.current
    if item is not None:
        value = reading.values.get(reading.meaning, CONFIRMED)
        told = item.told_in(reading.text) or reading.text
        spoken = told if value == CONFIRMED else in_words(now, item, value)
        yield Happened(ValueHeard(value=value, spoken=spoken), f"{item.label}: {spoken}?", item.id)
        yield from go_on(now)


def choose_or_name(now: Moment, reading: Reading) -> Steps:
    """A choice or a role: it settles the item at once, and is said back as noted.

    What becomes a figure of the patient is read back first, as all of those are.
    """
    item = now.case.current
    if item is not None and item.figure is None and now.case.state is State.ASKING:
        value = reading.values[reading.meaning]
        yield from take(now, item, value, in_words(now, item, value))
    else:
        yield from read_value_back(now, reading)


def in_words(now: Moment, item: AnyItem, value: str | float) -> str:
    """An answer as it is read back or noted."""
    return item.spoken(value, now.site.brief.roster, now.tongue)
