"""The pressure after the tube: a yes, or a number that becomes known."""

import pytest

from assistant.brief.item import Standing
from assistant.brief.states import State

ITEM = "pressure-after"
LOW = "Blood pressure low."
TREAT = "Treat it now, before the patient is moved."


def texts(lines) -> list[str]:
    return [line.text for line in lines]


@pytest.fixture
def asked(opened):
    """A case in which it is asked whether the pressure holds; all else was put off."""
    talk = opened("we must go now", "begin the attempt", "tube in", "we saw a good wave")
    for _ in range(40):
        current = talk.case.known.current
        if current != ITEM:
            is_wave = current == "sustained-carbon-dioxide"
            talk.hears("we saw a good wave" if is_wave else "not yet")
    assert talk.case.known.current == ITEM
    return talk


@pytest.mark.parametrize(
    ("words", "mmhg"),
    [("ninety over fifty", 90), ("pressure's sixty", 60), ("bp is ninety over fifty", 90)],
)
def test_a_low_one_is_known_and_said_to_be_so(asked, words, mmhg) -> None:
    """It was lost, or read back and the same question asked again."""
    said = texts(asked.hears(words))
    assert said[0].endswith(LOW)
    assert said[1] == TREAT
    known = asked.case.known
    assert (known.pressure_mmhg, known.low_pressure) == (mmhg, True)
    assert known.items[ITEM].standing is not Standing.DONE


def test_one_that_holds_settles_it(asked) -> None:
    """And is known, too."""
    assert texts(asked.hears("one oh five"))[0] == "One hundred and five millimetres."
    known = asked.case.known
    assert (known.pressure_mmhg, known.low_pressure) == (105, False)
    assert known.items[ITEM].standing is Standing.DONE


def test_one_that_is_not_surely_heard_is_read_back(asked) -> None:
    """Nothing is known before its yes."""
    assert "six zero" in texts(asked.hears("pressure's sixty", sure=False))[0]
    assert asked.case.known.pressure_mmhg is None
    assert TREAT in texts(asked.hears("yes"))
    assert asked.case.known.pressure_mmhg == 60


def test_a_yes_tells_no_number(asked) -> None:
    """Nor that it is not low any more."""
    asked.hears("it holds")
    known = asked.case.known
    assert (known.pressure_mmhg, known.low_pressure) == (None, None)
    assert known.items[ITEM].standing is Standing.DONE


@pytest.fixture
def known_before(opened):
    """The same where the weight, and a pressure from before the drugs, are known."""
    told = ("he's seventy kilos", "yes", "the pressure is one thirty over eighty", "yes")
    talk = opened(*told, "we must go now", "begin the attempt", "tube in", "we saw a good wave")
    for _ in range(40):
        current = talk.case.known.current
        if current != ITEM:
            is_wave = current == "sustained-carbon-dioxide"
            talk.hears("we saw a good wave" if is_wave else "not yet")
    assert talk.case.known.pressure_mmhg == 130
    return talk


UNKNOWN = "The pressure is not known."


@pytest.mark.parametrize("said", [("no",), ("one two zero", "no wait", "not yet")])
def test_one_that_does_not_hold_is_not_known_any_more(known_before, said) -> None:
    """A full dose was told by the one from before the drugs, or by one that was taken back."""
    for words in said:
        known_before.hears(words)
    assert known_before.case.known.pressure_mmhg is None
    assert texts(known_before.hears("how much propofol"))[0].startswith(UNKNOWN)
    known_before.hears("the pressure is one twenty over eighty")
    known_before.hears("yes")
    assert UNKNOWN not in texts(known_before.hears("how much propofol"))[0]


def test_a_low_one_stays_low_after_a_no(known_before) -> None:
    """Nobody has said that it is better."""
    known_before.hears("eight zero")
    while known_before.case.known.current != ITEM:
        known_before.hears("not yet")
    known_before.hears("no")
    assert "low pressure dose" in texts(known_before.hears("how much propofol"))[0]


def test_one_is_put_right_where_it_was_asked_last(known_before) -> None:
    """ "No, ninety" was not heard, as no item came after it."""
    known = known_before.case.known
    for item in known_before.case.brief.items_of(known.phase):
        known.set_standing(item.id, Standing.OPEN if item.id == ITEM else Standing.DONE)
    known_before.hears("one two zero")
    assert known_before.case.state is State.READY
    known_before.hears("no nine zero")
    known = known_before.case.known
    assert (known.pressure_mmhg, known.low_pressure) == (90, True)


def test_a_yes_after_a_low_one_is_read_back_with_it(asked) -> None:
    """It may be a yes to having measured it; one to the number that was told counts."""
    asked.hears("eight zero")
    while asked.case.known.current != ITEM:
        asked.hears("not yet")
    assert texts(asked.hears("yes")) == ["Eighty was told. Holding now, yes?"]
    assert asked.case.known.items[ITEM].standing is not Standing.DONE
    asked.hears("yes")
    assert asked.case.known.items[ITEM].standing is Standing.DONE


@pytest.mark.parametrize("words", ["one", "three hundred"])
def test_one_that_nobody_can_have_is_refused(asked, words) -> None:
    """As where the first one is asked for."""
    assert "only be" in texts(asked.hears(words))[0]
    assert asked.case.known.pressure_mmhg is None
