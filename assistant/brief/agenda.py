"""What comes next in a brief, and what is still open."""

from collections.abc import Sequence

from assistant.brief.case import Case
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.phases import RETURNING, Phase
from assistant.language.tongue import ENGLISH, Tongue


def next_item(case: Case) -> AnyItem | None:
    """The item to ask now, or None when all are answered, left open, or running.

    An item whose clock has ended comes first, then one that is asked again at once; what else was
    deferred is asked again once the rest of its section has been asked.
    """
    due = case.with_standing(Standing.DUE)
    first = due or [one for one in case.with_standing(Standing.DEFERRED) if one.asked_at_once]
    if first:
        return first[0]
    for section in case.brief.sections:
        if section.phase is not case.known.phase:
            continue
        for standing in (Standing.OPEN, Standing.DEFERRED):
            for item in section.items:
                asked = case.standing(item) is standing and case.applies(item)
                if asked and not (item.offered and case.known.pacing):
                    return item
    return None


def still_to_ask(case: Case, phase: Phase) -> bool:
    """Whether an item of that phase is still to be asked, now or when its clock ends."""
    settled = Standing.DONE, Standing.OUTSTANDING
    return any(
        case.standing(item) not in settled and case.applies(item)
        for item in case.brief.items_of(phase)
    )


def unanswered(case: Case, *, with_earlier: bool = False) -> list[AnyItem]:
    """Every item of the present phase that is not done, those said to be not yet first.

    `with_earlier`: and those before the attempt, while they can still be asked.
    """
    phases = [case.known.phase]
    if with_earlier and case.known.phase in RETURNING:
        phases = list(dict.fromkeys((case.known.phase, Phase.BEFORE)))
    declined = case.with_standing(Standing.OUTSTANDING, Standing.DEFERRED, phases=phases)
    waits = Standing.DUE, Standing.RUNNING, Standing.OPEN
    return declined + case.with_standing(*waits, phases=phases)


def label(item: AnyItem) -> str:
    """A short name of an item, for a list: the site's own, or its identifier in words."""
    return item.label


def to_name(items: Sequence[AnyItem], tongue: Tongue = ENGLISH, at_most: int = 6) -> str:
    """Several items in one breath."""
    named = ", ".join(label(item) for item in items[:at_most])
    rest = len(items) - at_most
    if rest <= 0:
        return named
    return tongue.terms.and_more.format(items=named, count=tongue.numbers.say_number(rest))
