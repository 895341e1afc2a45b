"""A number that was read back and is said once more with a yes, as in a closed loop."""

from collections.abc import Iterable

from assistant.brief.moment import Moment
from assistant.brief.states import State
from assistant.brief.unsettled import Value
from assistant.grammar.readings import Reading, Verdict


def says_it_again(now: Moment, reading: Reading) -> bool:
    """Whether that is a yes to what was read back: surely heard, with the very number."""
    again = now.site.wording.may_be_said.number_again
    if reading.meaning != "number" or not begins_as_one_of(again, reading):
        return False
    number = _read_back(now)
    return reading.verdict is Verdict.ACCEPT and number == reading.values["number"]


def begins_as_one_of(phrases: Iterable[str], reading: Reading) -> bool:
    """Whether what was said begins with the words that stand before the number in one of these."""
    begins = {one.partition("{")[0] for one in phrases} - {""}
    return reading.text.startswith(tuple(begins))


def _read_back(now: Moment) -> float | None:
    """The number that was just read back, if one was."""
    known, state = now.case.known, now.case.state
    value: Value | None = None
    if state is State.CHECKING and known.pending is not None:
        value = known.pending.value
    elif state is State.STATING and known.fact is not None:
        value = known.fact.value
    elif state is State.QUOTING and known.quote is not None and known.quote.takes_a_weight:
        value = known.quote.weight_kg
    return None if value is None or isinstance(value, str | bool) else float(value)
