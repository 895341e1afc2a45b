"""Whether what was heard means anything in the present state of the case."""

from assistant.brief.agenda import told_beside
from assistant.brief.case import Case
from assistant.brief.states import (
    ANSWER,
    COMMANDS_IN_DOUBT,
    DIGITS,
    INSTEAD,
    NOT_SO,
    STATES,
    UNDONE,
    State,
)


def makes_sense(case: Case, meaning: str) -> bool:
    """Whether that meaning is an answer or a command in the present state of the case."""
    allowed, doubt = STATES[case.state].hears, case.known.doubt
    if case.state is State.DOUBTING and meaning in COMMANDS_IN_DOUBT:
        return doubt is not None and doubt.word in COMMANDS_IN_DOUBT  # no vital word gives way
    answers = case.current.answered_by if case.current is not None else ()
    digits = DIGITS in allowed and takes_a_number(case) and meaning == "number"
    beside = told_beside(case)
    told = () if beside.still is None else beside.still.answered_by
    more = meaning in ("number", "allergen") and meaning in told
    second = meaning == NOT_SO and beside.settled is not None
    second |= meaning == UNDONE and bool(beside.undone)
    second |= meaning == INSTEAD and beside.named is not None
    answer = ANSWER in allowed and meaning in answers
    return meaning in allowed or answer or digits or more or second


def takes_a_number(case: Case) -> bool:
    """Whether a number puts right what was just read back."""
    fact, quote = case.known.fact, case.known.quote
    in_quote = case.state is State.QUOTING and quote is not None and quote.takes_a_weight
    return in_quote or (fact is not None and fact.takes_a_number)
