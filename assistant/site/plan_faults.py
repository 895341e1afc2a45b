"""What names nothing that could serve in the plan for failed attempts and in the times called."""

from collections.abc import Iterator

from assistant.brief.brief import Brief
from assistant.brief.clocks import ARREST_CLOCK, ATTEMPT_CLOCK, DRUGS_CLOCK
from assistant.brief.phases import Phase
from assistant.brief.valued_items import NameItem
from assistant.files.faults import Fault

CLOCKS = (ATTEMPT_CLOCK, DRUGS_CLOCK, ARREST_CLOCK)


def plan_faults(brief: Brief) -> Iterator[Fault]:
    """Items that cannot serve, and clocks that never run."""
    yield from _items(brief)
    own = dict.fromkeys(one.waits_for for one in brief.items() if one.waits_for is not None)
    for at, call in enumerate(brief.timed_calls):
        if call.clock not in (*CLOCKS, *own):
            allowed = f"one of: {', '.join((*CLOCKS, *own))}"
            yield Fault(("timed_calls", at, "clock"), repr(call.clock), allowed)


def _items(brief: Brief) -> Iterator[Fault]:
    plan = brief.attempts
    names = [item.id for item in brief.items() if isinstance(item, NameItem)]
    between = [item.id for item in brief.items_of(Phase.BETWEEN)]
    for key, among, which in (
        ("neck_taken_by", names, "that is answered by a name"),
        ("oxygen_back", between, "of the phase between"),
    ):
        item = getattr(plan, key)
        if item is not None and item not in among:
            yield Fault(("attempts", key), repr(item), f"an item {which}")
