"""When a number may have been another one, and when it has to be said digit by digit before it is
read back."""

from collections.abc import Callable
from decimal import Decimal

from assistant.grammar.readings import Reading, Verdict
from assistant.language.tongue import ENGLISH, Numbers


def may_be_another(
    number: int | Decimal,
    slot: str,
    reading: Reading,
    possible: Callable[[int | Decimal], bool],
    numbers: Numbers = ENGLISH.numbers,
) -> bool:
    """Whether it may not count unless it is read back.

    It is so for a teen or a ten ("fifteen", "fifty"; also "a hundred and fifteen") that was not
    itself said in digits, when its partner may have been meant: the partner would be possible
    here (and is most likely what was said, where what was heard is not); or the engine found it
    nearly as likely, or was not sure at all.
    """
    partner = numbers.confusable_with(number)
    if partner is None or numbers.said_in_digits(number, reading.text):
        return False
    return possible(partner) or not _is_surely_heard(reading, slot, partner)


def must_be_spelt(
    number: int | Decimal,
    slot: str,
    reading: Reading,
    possible: Callable[[int | Decimal], bool],
    numbers: Numbers = ENGLISH.numbers,
) -> bool:
    """Whether the digits have to be asked for, one by one, before it is read back.

    It is so for the same numbers, but for a ten that was surely heard and whose teen is only
    possible: "a hundred and forty" is told far more often than its teen, and its read-back has the
    digits, "one four zero".
    """
    partner = numbers.confusable_with(number)
    if partner is None or not may_be_another(number, slot, reading, possible, numbers):
        return False
    surely = _is_surely_heard(reading, slot, partner) and possible(number)
    return not (surely and partner < number)


def _is_surely_heard(reading: Reading, slot: str, partner: int | Decimal) -> bool:
    """Whether the engine was sure of it, and its partner not nearly as likely."""
    close = reading.runner_up is not None and reading.runner_up.get(slot) == partner
    return reading.verdict is Verdict.ACCEPT and not close
