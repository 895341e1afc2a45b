"""Whoever asks for a dose is not to ask twice: what comes before it is settled, and it is told."""

from assistant.brief.item import Standing
from assistant.brief.moment import DOSE_AWAITED_S


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def test_the_weight_is_asked_for_at_once_and_the_dose_follows(opened) -> None:
    """Nobody has to say the weight in a sentence, or the question again; then the brief goes on.
    So it is late in a case, too."""
    talk = opened("begin", "we saw the mask held on")
    talk.waits(DOSE_AWAITED_S + 5)
    before = talk.case.known.current
    said = texts(talk.hears("how much ketamine"))
    assert said[-1].endswith("Weight in kilograms?")
    talk.hears("eighty kilos")
    said = texts(talk.hears("yes"))
    assert said[1].startswith("Ketamine for induction, eighty kilograms")
    assert talk.case.known.current == before


def test_a_weight_put_right_at_the_read_back_of_a_dose_leads_to_it(opened) -> None:
    """ "No, eighty": the patient's own weight is read back, and then the drug for that."""
    talk = opened("begin", "he's seventy kilos", "yes", "how much rocuronium", "no, eighty")
    said = texts(talk.hears("yes"))
    assert "Rocuronium, not vecuronium, for eighty" in said[-1]
    said = texts(talk.hears("yes"))
    assert said[0].startswith("Rocuronium for paralysis, eighty kilograms")


def test_after_a_restart_the_dose_follows_the_weight(opened) -> None:
    """It is read back first, and nobody has to ask again."""
    talk = opened("begin", "he's seventy kilos", "yes")
    talk.case.known.weight_in_doubt = True
    assert "seventy" in texts(talk.hears("how much ketamine"))[-1]
    said = texts(talk.hears("yes"))
    assert said[1].startswith("Ketamine for induction, seventy kilograms")


def test_nobody_waits_for_a_dose_for_ever(opened) -> None:
    """A weight that is told a minute later is only noted."""
    talk = opened("begin", "we saw the mask held on", "how much ketamine")
    talk.waits(DOSE_AWAITED_S + 5)
    talk.hears("eighty kilos")
    assert not any("milligrams" in one for one in texts(talk.hears("yes")))


def test_a_dose_that_was_awaited_is_told_once(opened) -> None:
    """Another weight soon after only makes it void: nobody asked for it again."""
    talk = opened("begin", "how much ketamine", "eighty kilos", "yes")
    talk.hears("the weight is seventy kilos")
    said = texts(talk.hears("yes"))
    assert any("ketamine" in one.lower() for one in said)  # that its dose is another one now
    assert not any("milligrams" in one for one in said)


def test_another_fact_meanwhile_does_not_ask_for_the_weight_again(opened) -> None:
    """It is noted, and the weight is still asked for."""
    talk = opened("begin", "we saw the mask held on", "how much ketamine")
    talk.hears("she's allergic to latex")
    said = texts(talk.hears("yes"))
    assert not any("no weight" in one for one in said)
    assert talk.case.current.figure == "weight_kg"
    assert talk.case.standing(talk.case.item("weight")) is Standing.OPEN


def test_two_allergies_in_a_row_are_both_read_back(opened) -> None:
    """ "And latex", said before the yes to the first."""
    talk = opened("begin", "she's allergic to penicillin")
    assert "latex" in texts(talk.hears("and latex"))[-1]
    talk.hears("yes")
    talk.hears("yes")
    assert talk.case.known.allergies == ["latex", "penicillin"]
