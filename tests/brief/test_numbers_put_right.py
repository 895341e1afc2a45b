"""Numbers that were told in another unit, put right, too low to measure, or in doubt."""

import pytest

from assistant.brief.item import Standing
from assistant.brief.numbers_told import INSTEAD_S
from assistant.brief.states import State
from tests.brief.conftest import SITE

TO_THE_WEIGHT = ("begin", "we saw the mask held on", "bag and valve on")
TO_THE_PRESSURE = (
    *TO_THE_WEIGHT,
    *("seven zero kilos", "yes", "nothing special", "we went through the allergies"),
    *("the registrar", "the consultant", "we went through that plan", "running freely"),
)


def texts(lines) -> list[str]:
    return [line.text for line in lines]


@pytest.mark.parametrize("later", [False, True])
@pytest.mark.parametrize(
    ("words", "digits", "kilograms"),
    [
        ("one hundred and fifty pounds", "One five zero, pounds.", 68),
        ("one hundred and eighty pounds", "One eight zero, pounds.", 82),
        ("one five four pounds", "One five four, pounds.", 70),
    ],
)
def test_pounds_are_said_back_and_become_kilograms(opened, words, digits, kilograms, later) -> None:
    """A hundred and fifteen might have been heard as fifty: the digits tell, not a question for
    digits, which would be taken for kilograms."""
    talk = opened(*TO_THE_WEIGHT, *(("nine zero kilos", "yes") if later else ()))
    said = texts(talk.hears(words))
    assert said[0] == digits
    assert "kilograms. Correct?" in said[1]
    assert talk.case.known.weight_kg == (90 if later else None)
    talk.hears("yes")
    assert talk.case.known.weight_kg == kilograms


@pytest.mark.parametrize("words", ["no ninety", "sorry ninety", "no it's ninety"])
def test_a_pressure_is_put_right_when_the_pulse_has_come_up(opened, words) -> None:
    """It was the pulse that became ninety, and the pressure stayed a hundred and ten."""
    talk = opened(*TO_THE_PRESSURE, "one one zero")
    assert talk.case.known.current == "pulse"
    talk.hears(words)
    assert talk.case.known.pressure_mmhg == 90
    assert talk.case.known.low_pressure is True
    assert talk.case.known.pulse_per_min is None
    assert talk.case.known.current == "pulse"


def test_a_weight_is_put_right_when_what_is_special_has_come_up(opened) -> None:
    """It is read back as any weight, and no dose goes by the old one meanwhile."""
    talk = opened(*TO_THE_WEIGHT, "seven zero kilos", "yes")
    assert "eight zero, kilograms" in texts(talk.hears("no eighty"))[-1]
    assert talk.case.known.weight_kg is None
    talk.hears("yes")
    assert talk.case.known.weight_kg == 80
    assert talk.case.known.current == "special"


def test_later_such_a_number_is_about_what_is_asked(opened) -> None:
    """Long after the pressure a "no, ninety" is a pulse."""
    talk = opened(*TO_THE_PRESSURE, "one two zero")
    talk.waits(INSTEAD_S + 5)
    talk.hears("no ninety")
    assert (talk.case.known.pressure_mmhg, talk.case.known.pulse_per_min) == (120, 90)


def test_not_surely_heard_it_opens_nothing_again(opened) -> None:
    """Noise makes a number of a "no"."""
    talk = opened(*TO_THE_WEIGHT, "seven zero kilos", "yes")
    talk.hears("no eighty", sure=False)
    assert talk.case.known.weight_kg == 70
    assert talk.case.known.current == "special"


def test_a_setting_that_was_not_the_wanted_one_is_told_anew(opened) -> None:
    """The flow is turned up while the next item is asked; it was not heard until asked again."""
    talk = opened("planned brief", "we saw the mask held on", "ten litres")
    asked = talk.case.known.current
    assert asked != "nasal-oxygen"
    assert texts(talk.hears("fifteen litres"))[0] == "Fifteen litres."
    assert talk.case.known.items["nasal-oxygen"].standing is Standing.DONE
    assert talk.case.known.current == asked


@pytest.mark.parametrize("words", ["unrecordable", "too low to read", "low"])
def test_a_pressure_that_nobody_can_measure_is_a_low_one(opened, words) -> None:
    """It was refused or not heard, and the full dose told."""
    talk = opened(*TO_THE_PRESSURE)
    assert "pressure low" in texts(talk.hears(words))[-1]
    talk.hears("yes")
    assert talk.case.known.low_pressure is True
    assert talk.case.known.items["pressure"].standing is Standing.OUTSTANDING
    assert "low pressure dose" in texts(talk.hears("how much ketamine"))[0]


def test_thirty_is_a_pressure(opened) -> None:
    """A patient in extremis has one."""
    talk = opened(*TO_THE_PRESSURE, "thirty")
    assert (talk.case.known.pressure_mmhg, talk.case.known.low_pressure) == (30, True)


def test_no_dose_while_a_pressure_awaits_its_yes(opened) -> None:
    """It would be the full one, and outdated a second later."""
    talk = opened(*TO_THE_PRESSURE)
    talk.hears("eighty five", sure=False)
    said = texts(talk.hears("how much ketamine"))
    assert said[0] == SITE.wording.says.fact_again
    assert "eight five" in said[1]
    assert not talk.case.known.doses


def test_a_pressure_that_nobody_had_is_said_with_the_dose(opened) -> None:
    """Not before it was asked for: then it is only not asked yet."""
    talk = opened(*TO_THE_PRESSURE)
    assert "not known" not in texts(talk.hears("how much ketamine"))[0]
    talk.hears("can't get one")
    assert texts(talk.hears("how much ketamine"))[0].startswith("The pressure is not known.")
    assert not texts(talk.hears("how much rocuronium"))[0].startswith("The pressure is not")


def test_a_pressure_that_has_recovered_is_asked_for_again(opened) -> None:
    """Eighty-five is not the pressure any more."""
    talk = opened(*TO_THE_PRESSURE, "eight five", "the pressure is back up", "yes")
    assert talk.case.known.pressure_mmhg is None
    assert talk.case.known.items["pressure"].standing is Standing.OPEN


def test_a_question_for_another_dose_closes_the_one_before(opened) -> None:
    """Its yes told the dose of ninety kilograms to whoever had just asked for forty."""
    talk = opened(*TO_THE_PRESSURE, "how much ketamine for ninety kilos")
    assert "I need the age first" in texts(talk.hears("how much ketamine for forty kilos"))[0]
    assert talk.case.known.quote is None
    talk.hears("yes")
    assert talk.case.known.answered is None


def test_what_was_told_of_the_patient_bars_a_drug_unasked(opened) -> None:
    """Asthma was told, and the question would be answered by habit."""
    talk = opened(*TO_THE_PRESSURE, "he's asthmatic", "yes")
    assert texts(talk.hears("how much esmolol"))[0] == "Told: trapped air. Then no esmolol."


def test_a_pulse_that_is_put_right_is_no_pressure(opened) -> None:
    """It was the item before that took it, and the pressure of ninety was gone."""
    talk = opened(*TO_THE_PRESSURE, "ninety", "one two zero", "no one one zero")
    assert (talk.case.known.pressure_mmhg, talk.case.known.pulse_per_min) == (90, 110)


def test_a_pressure_soon_after_pounds_is_no_weight(opened) -> None:
    """Only what puts the weight right is in pounds; the next number answers what is asked."""
    told = {"seven zero kilos": "one five four pounds"}
    talk = opened(*(told.get(one, one) for one in TO_THE_PRESSURE))
    assert texts(talk.hears("one one five"))[0] == "One hundred and fifteen millimetres."
    assert (talk.case.known.weight_kg, talk.case.known.pressure_mmhg) == (70, 115)


def test_pounds_that_are_put_right_are_pounds(opened) -> None:
    """A hundred and forty kilograms were read back, and taken."""
    talk = opened(*TO_THE_WEIGHT, "one five zero pounds")
    assert texts(talk.hears("no one four zero"))[0] == "One four zero, pounds."
    talk.hears("yes")
    assert talk.case.known.weight_kg == 64


def test_a_number_about_nothing_is_asked_for_again(opened) -> None:
    """It was met with silence."""
    talk = opened(*TO_THE_WEIGHT, "seven zero kilos", "yes")
    talk.waits(INSTEAD_S + 5)
    assert texts(talk.hears("no eighty")) == [SITE.wording.says.say_again]


def test_a_newer_number_leaves_no_older_word(opened) -> None:
    """ "Blood pressure low. Correct?" came after a hundred and twenty."""
    talk = opened(*TO_THE_WEIGHT, "the pressure is low", "the pressure is one twenty over eighty")
    talk.hears("yes")
    assert talk.case.known.pressure_mmhg == 120
    assert talk.case.known.low_pressure is not True
    assert talk.case.state is State.ASKING


@pytest.mark.parametrize("words", ["yes eighty", "yep eighty", "yes eight zero"])
@pytest.mark.parametrize(
    ("before", "told"),
    [
        (TO_THE_WEIGHT, "eight zero kilos"),
        ((*TO_THE_WEIGHT, "nine zero kilos", "yes"), "he's eighty kilos"),
    ],
    ids=["asked", "told"],
)
def test_a_yes_with_the_number_that_was_read_back_is_a_yes(opened, before, told, words) -> None:
    """As people answer in a closed loop; it was not heard."""
    talk = opened(*before, told)
    assert texts(talk.hears(words))[0] == "Eighty kilograms."
    assert talk.case.known.weight_kg == 80


def test_a_yes_with_the_weight_of_a_dose_question_is_a_yes(opened) -> None:
    """There too."""
    talk = opened(*TO_THE_PRESSURE, "how much ketamine for ninety kilos")
    assert "ketamine" in texts(talk.hears("yes ninety"))[0].lower()
    assert talk.case.known.quote is None


@pytest.mark.parametrize("words", ["yes seventy", "make it seventy", "call it seventy"])
def test_another_number_is_read_back_in_its_place(opened, words) -> None:
    """A yes before it confirms nothing."""
    talk = opened(*TO_THE_WEIGHT, "eight zero kilos")
    assert texts(talk.hears(words)) == ["I heard seventy: seven zero, kilograms. Correct?"]
    assert talk.case.known.weight_kg is None


@pytest.mark.parametrize(
    ("told", "again"),
    [
        ("he's eighty years old", "I heard seventy: seven zero, years. Correct?"),
        ("what is the dose of ketamine for eighty kilos", "Ketamine, for seventy: seven zero, "),
    ],
)
def test_a_yes_with_the_number_that_was_read_back_before_is_none(opened, told, again) -> None:
    """Seventy kilograms await their yes, but eighty of something else was read back since."""
    talk = opened(*TO_THE_WEIGHT, "seven zero kilos", told)
    assert texts(talk.hears("yes seventy"))[-1].startswith(again)
    assert (talk.case.known.weight_kg, talk.case.known.age_years) == (None, None)
    assert talk.case.known.doses == {}


def test_a_yes_with_the_number_that_was_not_surely_heard_is_none(opened) -> None:
    """It is read back once more."""
    talk = opened(*TO_THE_WEIGHT, "eight five kilos")
    talk.hears("yes eighty five", sure=False)
    assert talk.case.known.weight_kg is None
    assert talk.case.state is State.CHECKING


def test_that_is_right_is_told_what_counts(opened) -> None:
    """One soft sound makes "that's not right" of it."""
    talk = opened(*TO_THE_WEIGHT, "eight zero kilos")
    assert texts(talk.hears("that's right"))[0].startswith("Please say: yes confirmed.")
    assert talk.case.known.weight_kg is None


def test_a_pressure_that_was_taken_back_counts_for_no_dose(opened) -> None:
    """It was not low, so that nobody was told that the pressure is not known."""
    talk = opened(*TO_THE_PRESSURE, "one four zero", "no wait", "can't get one")
    assert talk.case.known.low_pressure is None
    assert texts(talk.hears("how much ketamine"))[0].startswith("The pressure is not known.")


def test_what_was_special_and_is_not_sets_no_ventilator(opened) -> None:
    """Trapped air stayed known when "nothing special" came in place of it."""
    talk = opened(*TO_THE_WEIGHT, "seven zero kilos", "yes", "asthma", "nothing else", "no wait")
    talk.hears("nothing special")
    assert talk.case.known.obstruction is None
    assert "trapped" not in texts(talk.hears("how do i set the ventilator"))[0]


def test_a_pressure_that_nobody_has_is_refused(opened) -> None:
    """It was read back as if it could be; and what was read back before it awaits no yes."""
    talk = opened("begin", "pressure's eighty")
    said = texts(talk.hears("pressure's three hundred"))
    assert said[0].startswith("I heard three hundred. Here it can only be")
    talk.hears("yes")
    assert talk.case.known.pressure_mmhg is None
