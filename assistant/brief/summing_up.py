"""The pause before the drugs, and what must not pass unsaid: vital items that are open."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from assistant.brief.agenda import to_name, unanswered
from assistant.brief.confirmed_items import TimedItem
from assistant.brief.events.course import GapsTold, PauseBegun, PausePassed
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import RETURNING
from assistant.brief.prompts import ask_clearance, say_elapsed
from assistant.brief.told_doses import ask_anew, no_adults_age
from assistant.brief.valued_items import NameItem
from assistant.dosing.audible import audible
from assistant.dosing.units import Quantity, quantity, spoken, written
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled

MOST_NAMED = 3
"""So many open items are named at most: people do not remember more."""


def begin_pause(now: Moment) -> Steps:
    """Sum up what the drugs go by, in one breath, and wait for a clear word."""
    left = vital_first(_open_at_the_pause(now))
    yield Happened(
        PauseBegun(open_items=[one.id for one in left]), f"pause before the drugs: {len(left)} open"
    )
    yield from sum_up(now)


def leave_pause() -> Steps:
    """The drugs went in without a clear word."""
    yield Happened(PausePassed(by_word=False), "the drugs went in without a clear word")


def sum_up(now: Moment) -> Steps:
    """What the drugs go by, and what is open; also for somebody who has not heard it."""
    left = vital_first(_open_at_the_pause(now))
    yield Line(" ".join((*_summary(now, left), ask_clearance(now))), "pause")


def _open_at_the_pause(now: Moment) -> list[AnyItem]:
    """Without those whose clock runs, in a brief that does not wait for it: they are told apart."""
    return [one for one in unanswered(now.case) if now.case.standing(one) is not Standing.RUNNING]


def _summary(now: Moment, left: Sequence[AnyItem]) -> Iterator[str]:
    says = now.site.wording.pause
    yield says.opening
    yield from of_the_patient(now)
    for item in now.case.brief.items_of(now.case.known.phase):
        answer = now.case.known.items[item.id].answer
        if isinstance(item, NameItem) and answer is not None:
            yield filled(says.who, task=item.label, who=answer)
    for item in now.case.with_standing(Standing.RUNNING):
        clock = now.case.known.clocks.get(item.clock) if isinstance(item, TimedItem) else None
        if clock is not None and not clock.unknown:
            time = say_elapsed(now.present.now_s - clock.started_s, now.tongue)
            yield filled(now.says.elapsed, what=clock.name, time=time)
    if left:
        items = to_name(left, now.tongue, MOST_NAMED)
        yield filled(says.open, count=now.say(len(left)), items=items)
    else:
        yield says.nothing_open


def of_the_patient(now: Moment) -> Iterator[str]:
    """What is known of the patient, and what doses were told, a sentence each."""
    says, known, terms = now.site.wording.pause, now.case.known, now.tongue.terms
    if known.weight_kg is None or known.weight_in_doubt:
        yield says.no_weight
    else:
        unit = terms.units.named("kilogram").many
        weight = terms.quantity.format(number=now.say(known.weight_kg), unit=unit)
        yield filled(says.weight, weight=weight)
    features = [one.called for one in now.case.features]
    if features:
        yield filled(says.features, features=", ".join(features))
    yield from _doses(now)
    present = now.present
    if present.seen_ago_s is not None and present.spo2_percent is not None:
        yield filled(says.saturation, percent=now.say(present.spo2_percent))
    if known.pressure_mmhg is not None:
        yield filled(says.pressure, pressure=now.say(known.pressure_mmhg))
    if known.low_pressure:
        yield says.low_pressure
    if known.allergies:
        called = [now.site.formulary.allergen(one).called for one in known.allergies]
        yield filled(says.allergies, allergens=", ".join(called))


def _doses(now: Moment) -> Iterator[str]:
    """What was told, and what is to be asked for again; of nobody who is no adult."""
    if now.case.known.no_adult:
        yield no_adults_age(now)
        return
    for drug, dose in dose_texts(now):
        yield filled(now.site.wording.pause.dose, drug=drug, dose=dose)
    if now.case.known.outdated:
        yield ask_anew(now, now.case.known.outdated)


def dose_texts(now: Moment) -> Iterator[tuple[str, str]]:
    """Each drug whose dose was told for this patient, with that dose in words."""
    known = now.case.known
    for drug, told in known.doses.items():
        if known.told_dose(drug) is None:
            continue
        yield now.site.formulary.drug(drug).called, dose_in_words(now, told.dose, told.unit)


def dose_in_words(now: Moment, dose: str | float, unit: str) -> str:
    """A dose that is on record, for the ear: the figure is the one that was told."""
    return spoken(_as_told(dose, unit), now.tongue)


def dose_as_written(dose: str | float, unit: str) -> str:
    """The same for the eye."""
    return written(_as_told(dose, unit))


def _as_told(dose: str | float, unit: str) -> Quantity:
    return quantity(audible(Decimal(str(dose))), unit)


def vital_first(items: Sequence[AnyItem]) -> list[AnyItem]:
    """The same items, those first of which a plain yes is not enough."""
    return sorted(items, key=lambda item: not item.doubts_a_plain_yes)


def vital_of(items: Sequence[AnyItem]) -> list[AnyItem]:
    """Those alone of which a plain yes is not enough."""
    return [item for item in items if item.doubts_a_plain_yes]


def tell_gaps(now: Moment) -> Steps:
    """Vital items that are open and of which nobody was told before the drugs or the attempt."""
    known = now.case.known
    if known.gaps_told or known.phase not in RETURNING:
        return
    vital = vital_of(unanswered(now.case, with_earlier=True))
    if vital:
        named = to_name(vital, now.tongue, MOST_NAMED)
        yield Happened(GapsTold(open_items=[one.id for one in vital]), f"open: {len(vital)}")
        yield Line(filled(now.says.vital_open, items=named), "gaps")
