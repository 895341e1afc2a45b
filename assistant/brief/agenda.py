"""What comes next in a brief, and what is still open."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from assistant.brief.case import Case
from assistant.brief.item import PUT_OFF, Standing
from assistant.brief.items import AnyItem
from assistant.brief.phases import RETURNING, Phase
from assistant.brief.states import LATE, STATES, State
from assistant.brief.unsettled import NO_WAVE
from assistant.language.tongue import ENGLISH, Tongue


def next_item(case: Case, *, but: AnyItem | None = None) -> AnyItem | None:
    """The item to ask now, or None when all are answered, left open, or running.

    An item whose clock has ended comes first, then one that is asked again at once; what else was
    deferred is asked again between two sections, once something else was asked since: who has just
    put it off is not asked for it again.

    `but`: as if that one were not asked any more.
    """
    put_off = [one for one in case.with_standing(Standing.DEFERRED) if one is not but]
    first = [
        *(one for one in timed(case, Standing.DUE) if one is not but),
        *(one for one in put_off if one.asked_at_once),
    ]
    if first:
        return first[0]
    waits: list[AnyItem] = []
    for section in case.brief.sections:
        if section.phase is not case.known.phase:
            continue
        asked = [one for one in section.items if one is not but and _is_asked(case, one)]
        still_open = [one for one in asked if case.standing(one) is Standing.OPEN]
        if still_open:
            begun = any(one.id in case.known.trail for one in section.items)
            again = [one for one in waits if one.id not in case.known.trail[-1:]]
            return still_open[0] if begun or not again else again[0]
        waits += [one for one in asked if case.standing(one) is Standing.DEFERRED]
    return min(waits, key=lambda one: one.id in case.known.trail[-1:], default=None)


def timed(case: Case, standing: Standing) -> list[AnyItem]:
    """The items whose clock runs, or has ended, as long as that is waited for.

    Once the drugs are in, or somebody has looked, nobody is asked whether three minutes of oxygen
    went well: what was not answered before stays open.
    """
    over = case.known.phase is Phase.BEFORE and case.known.has_begun
    return [] if over else case.with_standing(standing)


def _is_asked(case: Case, item: AnyItem) -> bool:
    return case.applies(item) and not (item.offered and case.known.pacing)


def still_to_ask(case: Case, phase: Phase) -> bool:
    """Whether an item of that phase is still to be asked, now or when its clock ends."""
    settled = {Standing.DONE, Standing.OUTSTANDING}
    if phase is Phase.BEFORE and case.known.has_begun:
        settled |= {Standing.RUNNING, Standing.DUE}
    return any(
        case.standing(item) not in settled and case.applies(item)
        for item in case.brief.items_of(phase)
    )


def leaves_breathing(case: Case) -> bool:
    """Whether the brief is one in which the patient breathes on, and no drugs are in."""
    choice = case.brief.choice(case.known.brief)
    return choice is not None and choice.breathing and not case.known.drugs_are_in


def has_opened(case: Case) -> bool:
    """Whether there is something to ask before the drugs again, once all of it was done."""
    known = case.known
    done = case.state in (State.READY, State.PAUSING) and known.phase is Phase.BEFORE
    return done and not known.has_begun and bool(case.with_standing(Standing.OPEN))


def unanswered(case: Case, *, with_earlier: bool = False) -> list[AnyItem]:
    """Every item of the present phase that is not done, those said to be not yet first.

    `with_earlier`: and those before the attempt, while they can still be asked.
    """
    phases = [case.known.phase]
    if with_earlier and case.known.phase in RETURNING:
        phases = list(dict.fromkeys((case.known.phase, Phase.BEFORE)))
    declined = case.with_standing(*PUT_OFF, phases=phases)
    waits = Standing.DUE, Standing.RUNNING, Standing.OPEN
    return declined + case.with_standing(*waits, phases=phases)


@dataclass(frozen=True, slots=True)
class Beside:
    """Items of which something may be told while another one is asked."""

    late: tuple[AnyItem, ...] = ()
    """They were put off, and are so by now."""
    early: tuple[AnyItem, ...] = ()
    """They are asked next."""
    undone: tuple[AnyItem, ...] = ()
    """They were said to be so, and may be so no more."""
    still: AnyItem | None = None
    """More may be told of it."""
    settled: AnyItem | None = None
    """What was said of it may be taken back."""
    named: AnyItem | None = None
    """Another one may be named for it."""
    wave: AnyItem | None = None
    """It is asked for next, if what is asked back is so; who sees it says yes to both."""

    @property
    def ids(self) -> tuple[tuple[str, ...], ...]:
        """Which they are, in that order."""
        singly = self.still, self.settled, self.named, self.wave
        several = self.late, self.early, self.undone
        one_each = [() if one is None else (one,) for one in singly]
        return tuple(tuple(one.id for one in some) for some in (*several, *one_each))


NOTHING_BESIDE: Final = Beside()


def told_beside(case: Case) -> Beside:
    """Of which items something may be told now, besides the one that is asked."""
    any_time = LATE in STATES[case.state].hears
    late = told_late(case) if any_time else []
    undone = told_undone(case) if any_time else []
    settled = settled_before(case)
    named = read_out_last(case) if case.state is State.PAUSING else settled
    early, still, wave = told_early(case), told_of_still(case), wave_to_come(case)
    return Beside(tuple(late), tuple(early), tuple(undone), still, settled, named, wave)


def told_late(case: Case) -> list[AnyItem]:
    """What was put off in this phase, or is bagged for, and may be told of when it is so."""
    waits = case.with_standing(*PUT_OFF)
    waits += [
        one for one in case.with_standing(Standing.RUNNING, Standing.DUE) if one.told_meanwhile
    ]
    return [one for one in waits if one is not case.current and not one.asked_at_once]


def told_undone(case: Case) -> list[AnyItem]:
    """What was said to be so in this phase, also where whether it still is is to be asked, and has
    words of its own for being so no more."""
    so = case.with_standing(Standing.DONE, Standing.RUNNING, Standing.DUE)
    return [one for one in so if one.undone_by and one is not case.current]


def settled_before(case: Case) -> AnyItem | None:
    """The item that was said to be so last, while the next one is asked or all was summed up: what
    denies it now, or names somebody else, is a second thought about that one."""
    before = case.known.trail[-1:]
    if not before or case.state not in (State.ASKING, State.PAUSING):
        return None
    item = case.item(before[0])
    so = case.standing(item) in (Standing.DONE, Standing.RUNNING) and item is not case.current
    return item if so and case.is_of_this_phase(item.id) else None


def read_out_last(case: Case) -> AnyItem | None:
    """The item for which somebody was named last as all was summed up at the pause."""
    named = [one for one in case.with_standing(Standing.DONE) if "name" in one.answered_by]
    return named[-1] if named else None


def told_early(case: Case) -> list[AnyItem]:
    """What may be told before its question while an offer is asked: the next choice and the next
    role of the same section, which people give at once where a plan asks for it.

    Each is said back as it is noted, and "go back" asks for it again.
    """
    offer = case.current
    if case.state is not State.ASKING or offer is None or not offer.offered:
        return []
    section = case.section_of(offer.id)
    still_open = [
        one for one in section.items if case.standing(one) is Standing.OPEN and case.applies(one)
    ]
    next_ones = {
        meaning: one
        for meaning in ("name", "choose")
        for one in reversed(still_open)
        if meaning in one.answered_by and one.figure is None
    }
    return list(next_ones.values())


def told_of_still(case: Case) -> AnyItem | None:
    """The item before, where more may be told of it: "no, ninety" is about the number that has just
    answered it, and "latex" is one more allergy, also while the first one is read back."""
    fact, before = case.known.fact, case.known.trail[-1:]
    if case.state is State.STATING and fact is not None and fact.figure == "allergies":
        return next((one for one in case.brief.items() if "allergen" in one.answered_by), None)
    item = case.item(before[0]) if before else None
    if item is None or case.state not in (State.ASKING, State.READY):
        return None
    if not {"number", "allergen"}.intersection(item.answered_by):
        return None
    answered = case.standing(item) is Standing.DONE and item is not case.current
    return item if answered and case.is_of_this_phase(item.id) else None


def was_told_low(case: Case, item: AnyItem) -> bool:
    """Whether a pressure was told to the item that was too low, so that a plain yes may be one to
    the question alone."""
    told = case.known.items[item.id].told
    return told is not None and item.told_by(told).get("low_pressure", False)


def doubted_wave(case: Case) -> AnyItem | None:
    """The wave that is asked for in this phase, while "no wave" is asked back."""
    doubt = case.known.doubt
    if doubt is None or doubt.word not in (NO_WAVE, "wave_lost"):
        return None
    items = case.brief.items_of(case.known.phase)
    return next((one for one in items if one.denied_plainly), None)


def wave_to_come(case: Case) -> AnyItem | None:
    """The wave that is asked for once a tube is in by the mouth, while that is asked back."""
    doubt, phase = case.known.doubt, case.known.phase
    in_already = phase in (Phase.AFTER, Phase.FRONT_OF_NECK, Phase.NECK_OPEN)
    if doubt is None or doubt.word not in ("tube_in", "tube_past_cords") or in_already:
        return None
    after = case.brief.items_of(Phase.AFTER)
    return next((one for one in after if one.denied_plainly), None)


def to_name(items: Sequence[AnyItem], tongue: Tongue = ENGLISH, at_most: int = 6) -> str:
    """Several items in one breath."""
    named = ", ".join(item.label for item in items[:at_most])
    rest = len(items) - at_most
    if rest <= 0:
        return named
    return tongue.terms.and_more.format(items=named, count=tongue.numbers.say_number(rest))
