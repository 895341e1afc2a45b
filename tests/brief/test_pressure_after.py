"""The pressure after the tube: a yes, or a number that becomes known."""

import pytest

from assistant.brief.item import Standing

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
