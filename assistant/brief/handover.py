"""The handover, in one breath; and what to do first when it goes wrong later."""

from collections.abc import Iterator

from assistant.brief.agenda import to_name, unanswered
from assistant.brief.clocks import ARREST_CLOCK, DRUGS_CLOCK, Given
from assistant.brief.going_on import tell
from assistant.brief.item import Standing
from assistant.brief.moment import Moment, Steps
from assistant.brief.phases import AIRWAY_IN, Phase
from assistant.brief.prompts import say_elapsed
from assistant.brief.summing_up import dose_in_words, vital_first
from assistant.dosing.drugs import Use
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled

MOST_DRUGS, MOST_OPEN = 6, 2
"""Named at most, each drug once: it is one breath, and all is on record."""
_IN_SECONDS_S = 90.0
"""What is longer ago is told in whole minutes."""


def handover(now: Moment, _: Reading) -> Steps:
    """Airway, drugs with doses and how long ago, saturation, and what is open."""
    yield from tell(now, Line(" ".join(_pieces(now)), "handover"))


def worse(now: Moment, _: Reading) -> Steps:
    """It goes wrong later: what to do first, by whether something is in."""
    tube = now.case.known.phase in AIRWAY_IN
    yield from tell(now, Line(now.says.worse if tube else now.says.worse_without_tube, "worse"))


def first_steps(now: Moment, reading: Reading) -> Steps:
    """Something happens that no item asks for: what was agreed to do first."""
    happens = {one.id: one for one in now.site.brief.first_steps}
    agreed = happens[str(reading.values["first_steps"])]
    say = (now.case.known.airway_is_in and agreed.say_with_airway) or agreed.say
    yield from tell(now, Line(say, "first-steps"))


def _pieces(now: Moment) -> Iterator[str]:
    says, known, terms = now.site.wording.handover, now.case.known, now.tongue.terms
    if known.weight_kg is not None:
        unit = terms.units.named("kilogram").many
        weight = terms.quantity.format(number=now.say(known.weight_kg), unit=unit)
        yield filled(says.weight, weight=weight)
    if known.allergies:
        called = [now.site.formulary.allergen(one).called for one in known.allergies]
        yield filled(says.allergies, allergens=", ".join(called))
    airway = {
        Phase.AFTER: says.tube,
        Phase.SUPRAGLOTTIC_IN: says.supraglottic,
        Phase.NECK_OPEN: says.neck,
    }.get(known.airway or Phase.BEFORE, says.no_airway)
    yield filled(airway, number=now.say(len(known.attempts)))
    arrests = [run for run in known.clock_runs if run.name == ARREST_CLOCK]
    if any(run.unknown for run in arrests):
        yield says.arrest_earlier
    elif arrests:
        ends_s = [now.present.now_s if run.ended_s is None else run.ended_s for run in arrests]
        lasted_s = sum(ends_s) - sum(run.started_s for run in arrests)
        text = says.in_arrest if known.is_arrested else says.arrest
        yield filled(text, time=say_elapsed(lasted_s, now.tongue))
    for item in now.case.with_standing(
        Standing.DONE, Standing.RUNNING, phases=(Phase.BEFORE, known.phase)
    ):
        answer = known.items[item.id].answer
        if item.id in now.case.brief.handover and answer is not None:
            yield filled(says.item, item=item.label, answer=answer)
    yield from _given(now)
    present = now.present
    if present.seen_ago_s is not None and present.spo2_percent is not None:
        yield filled(says.saturation, percent=now.say(present.spo2_percent))
    if known.low_pressure:
        yield says.low_pressure
    left = vital_first(unanswered(now.case))
    if left:
        items = to_name(left[:MOST_OPEN], now.tongue)
        yield filled(says.open, count=now.say(len(left)), items=items)
    else:
        yield says.nothing_open


def given(now: Moment, _: Reading) -> Steps:
    """Each drug that is in, and how long ago it went in last."""
    told = " ".join(_given(now)) or now.site.wording.handover.nothing_given
    yield from tell(now, Line(told, "given"))


def _given(now: Moment) -> Iterator[str]:
    """Each drug once, with the last time; told together where it was so many minutes ago.

    A relaxant must not be crowded out by a pressor that went in four times.
    """
    says, known, drugs = now.site.wording.handover, now.case.known, dict[str, list[str]]()
    clock = known.clocks.get(DRUGS_CLOCK)
    if clock is not None and not any(_began_the_clock(now, one) for one in known.given):
        ago = _ago(now, None if clock.unknown else clock.started_s)
        drugs[ago] = [now.tongue.terms.drugs_clock]
    last = {one.drug: one for one in known.given}
    for one in sorted(last.values(), key=lambda one: one.at_s or 0.0)[-MOST_DRUGS:]:
        times = sum(other.drug == one.drug for other in known.given)
        drugs.setdefault(_ago(now, one.at_s), []).append(_drug(now, one, times))
    for ago, told in drugs.items():
        text = says.given if ago else says.given_earlier
        yield filled(text, ago=ago, drugs=", ".join(told))


def _began_the_clock(now: Moment, one: Given) -> bool:
    """Whether it is what "drugs in" was said of: for induction, or to relax."""
    uses = {use.use for use in now.site.formulary.drug(one.drug).indications}
    return bool(uses & {Use.INDUCTION, Use.PARALYSIS})


def _drug(now: Moment, given: Given, times: int) -> str:
    says, called = now.site.wording.handover, now.site.formulary.drug(given.drug).called
    if given.dose is not None and given.unit is not None:
        called = says.dose.format(drug=called, dose=dose_in_words(now, given.dose, given.unit))
    return called if times == 1 else says.times.format(drug=called, count=now.say(times))


def _ago(now: Moment, at_s: float | None) -> str:
    """How long ago; nothing where nobody knows."""
    if at_s is None:
        return ""
    seconds = max(0.0, now.present.now_s - at_s)
    if seconds < _IN_SECONDS_S:
        return now.tongue.say_quantity(max(1, round(seconds)), "second")
    return now.tongue.say_quantity(round(seconds / 60), "minute")
