"""When a number has to be said digit by digit: thirteen and thirty, and all that sounds so."""

import pytest

from assistant.grammar.readings import Reading, Verdict
from assistant.language.doubt import must_be_spelt
from assistant.language.numbers import confusable_with, say_digits, say_number


def adult_kg(number: int) -> bool:
    """The weights of adults at the demonstration site."""
    return 30 <= number <= 200


def reading(number: int, text: str, *, close: bool = False, sure: bool = True) -> Reading:
    """A number as an engine read it; `close` when its partner was nearly as likely."""
    runner_up = {"number": float(confusable_with(number) or 0)} if close else None
    verdict = Verdict.ACCEPT if sure else Verdict.ASK
    return Reading(text, "number", {"number": float(number)}, 0.9, verdict, runner_up=runner_up)


def asked(number: int, text: str = "", **how: bool) -> bool:
    """Whether its digits are asked for, as a weight."""
    text = text or f"{say_number(number).replace('-', ' ')} kilos"
    return must_be_spelt(number, "number", reading(number, text, **how), adult_kg)


@pytest.mark.parametrize("number", [113, 115, 119])
def test_a_teen_whose_ten_is_possible_is_always_spelt(number: int) -> None:
    """It is most likely the ten, which is told far more often: never on the ear alone."""
    assert asked(number)


@pytest.mark.parametrize("number", [130, 140, 160, 190])
def test_a_ten_whose_teen_is_possible_is_read_back_when_it_is_clear(number: int) -> None:
    """The read-back has its digits; asked for first, they held up every heavy patient."""
    assert not asked(number)
    assert asked(number, close=True)
    assert asked(number, sure=False)


@pytest.mark.parametrize("number", [30, 50, 70, 90])
def test_a_ten_whose_teen_is_no_adult_is_taken_when_it_is_clear(number: int) -> None:
    """Nobody of seventeen kilograms is asked about here; the read-back still says the digits."""
    assert not asked(number)


@pytest.mark.parametrize("number", [30, 50, 70, 90])
def test_a_ten_below_the_strict_margin_is_spelt(number: int) -> None:
    """Its teen nearly as likely, or not surely heard: digits."""
    assert asked(number, close=True)
    assert asked(number, sure=False)


@pytest.mark.parametrize("number", [13, 15, 17, 19])
def test_a_teen_that_is_no_adult_is_most_likely_a_ten(number: int) -> None:
    """It is asked for in digits before it is refused."""
    assert asked(number)


@pytest.mark.parametrize("number", [216, 217, 219])
def test_what_is_impossible_either_way_is_not_asked_for_in_digits(number: int) -> None:
    """Nobody of 260 or 216 kilograms has a dose here: it is refused at once."""
    assert not asked(number)
    assert not asked(confusable_with(number))


def test_a_ten_that_is_no_adult_may_be_the_teen() -> None:
    """Where nobody is heavier than 170: "a hundred and eighteen" may have been said."""
    heard = reading(180, "one hundred and eighty kilos")
    assert must_be_spelt(180, "number", heard, lambda kg: 30 <= kg <= 170)


@pytest.mark.parametrize("number", [13, 50, 115, 150])
def test_digits_are_always_accepted(number: int) -> None:
    """Said one by one there is nothing to confuse, however close the other is."""
    text = f"{say_digits(number)} kilos"
    assert not asked(number, text, close=True)
    assert not asked(number, text, sure=False)


@pytest.mark.parametrize("number", [42, 65, 75, 101, 110, 120, 200])
def test_other_numbers_have_no_partner(number: int) -> None:
    """They go to the read-back as they are, sure or not."""
    assert not asked(number, sure=False)
