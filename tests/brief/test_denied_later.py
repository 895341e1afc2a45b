"""What was told about the patient, and is not so after all."""

import pytest

from assistant.brief.item import Standing

ASTHMA = ("begin", "he's seventy kilos", "yes", "he's asthmatic", "yes")
TO_SPECIAL = ("begin", "oxygen on", "yes", "both there", "seven zero kilos", "yes")
PENICILLIN = ("begin", "he's seventy kilos", "yes", "he's allergic to penicillin", "yes")


def texts(lines) -> list[str]:
    return [line.text for line in lines]


@pytest.mark.parametrize("words", ["no asthma", "he's not asthmatic"])
def test_it_is_put_right_at_any_time_after_a_yes(opened, words) -> None:
    """It was unheard, and stayed on record."""
    talk = opened(*ASTHMA)
    talk.waits(60)
    assert texts(talk.hears(words)) == [f"I heard {words}. Correct?"]
    assert talk.case.known.obstruction is True
    assert texts(talk.hears("yes"))[0].lower() == f"{words}."
    assert talk.case.known.obstruction is None
    talk.restarts()
    assert talk.case.known.obstruction is None


def test_what_is_not_confirmed_stays(opened) -> None:
    """And it is said that it does."""
    talk = opened(*PENICILLIN, "no penicillin allergy")
    assert texts(talk.hears("no"))[0] == "An allergy to penicillin."
    assert talk.case.known.allergies == ["penicillin"]
    talk = opened(*ASTHMA, "no asthma")
    assert texts(talk.hears("no"))[0] == "Trapped air."
    assert talk.case.known.obstruction is True


def test_it_is_a_no_to_its_own_read_back(opened) -> None:
    """Nobody has to say that it is wrong, and then what."""
    talk = opened("begin", "he's asthmatic")
    assert texts(talk.hears("he's not asthmatic"))[0] == "Cancelled."
    talk = opened("begin", "he's asthmatic")
    assert texts(talk.hears("he's not asthmatic", sure=False)) == [
        "I heard obstructed breathing. Correct?"
    ]


def test_of_what_nobody_told_it_is_only_said_back(opened) -> None:
    """Not surely heard it is read back: it may have been told just then."""
    talk = opened("begin")
    assert texts(talk.hears("he's not asthmatic"))[0] == "He's not asthmatic."
    said = texts(talk.hears("he's not asthmatic", sure=False))
    assert said == ["I heard he's not asthmatic. Correct?"]


def test_a_drug_that_was_refused_for_it_is_asked_for_no_more(opened) -> None:
    """Its question is answered after the yes, with what else must be excluded."""
    talk = opened(*ASTHMA, "how much esmolol")
    assert "Then no esmolol" in talk.said[-2]
    talk.hears("how much ketamine")  # which is told, and nothing of the other
    assert "esmolol" not in talk.said[-2].lower()
    talk.hears("no asthma")
    assert "asthma excluded?" in texts(talk.hears("yes"))[-1]
    assert texts(talk.hears("yes confirmed"))[0].startswith("Esmolol")


def test_a_dose_that_it_makes_another_is_named(opened) -> None:
    """So it is where it was told."""
    talk = opened("begin", "he's seventy kilos", "yes", "this patient is frail", "yes")
    talk.hears("how much midazolam")
    talk.hears("he's not frail")
    assert "Another dose now of midazolam." in " ".join(texts(talk.hears("yes")))


def test_an_allergy_is_taken_back_alone(opened) -> None:
    """The other one stays; no dose is told with the first any more, nor handed over."""
    talk = opened(*PENICILLIN, "he's allergic to latex", "yes", "not allergic to penicillin", "yes")
    assert talk.case.known.allergies == ["latex"]
    said = texts(talk.hears("how much ketamine"))[0]
    assert said.startswith("This patient is allergic to latex. ")


def test_no_wait_takes_the_denial_back(opened) -> None:
    """As every word that turns the case."""
    talk = opened(*PENICILLIN, "no penicillin allergy", "yes", "no wait")
    assert talk.case.known.allergies == ["penicillin"]


def test_a_question_that_it_opened_is_left(opened) -> None:
    """Nobody is asked for the collar of a neck that is cleared; it is no longer special either."""
    talk = opened("begin", "the neck may be injured", "yes")
    while talk.case.known.current != "collar":
        talk.hears("not yet")
    talk.hears("the neck's been cleared")
    said = texts(talk.hears("yes"))
    assert said[-1] != "Is any collar off, with hands holding the neck in line?"
    assert talk.case.known.current != "collar"
    assert not talk.case.applies(talk.case.item("collar"))


def test_it_is_left_out_of_what_was_said_to_be_special(opened) -> None:
    """The answer to the item is what is left of it."""
    talk = opened("begin", "oxygen on", "yes", "both there", "seven zero kilos", "yes")
    for words in ("collar and asthma", "nothing else", "the neck's been cleared", "yes"):
        talk.hears(words)
    special = talk.case.known.items["special"]
    assert (special.value, special.answer) == ("obstruction", "trapped air")
    talk.hears("no asthma")
    talk.hears("yes")
    assert talk.case.known.items["special"].value == "none"
    assert talk.case.features == []


def test_silence_settles_nothing_where_all_that_was_told_is_denied(opened) -> None:
    """Only once something was told: nobody has said that there is nothing special."""
    talk = opened(*TO_SPECIAL, "asthma", "no asthma", "yes")
    talk.waits(60)
    assert talk.case.known.items["special"].standing is Standing.OPEN
    assert talk.case.known.current == "special"


def test_what_is_told_after_a_denial_can_be_denied_too(opened) -> None:
    """It ended the case's program: of nothing special there was a feature called "none"."""
    talk = opened(*TO_SPECIAL, "asthma", "no asthma", "yes", "trauma", "no neck injury", "yes")
    talk.hears("full stomach")
    talk.hears("nothing else")
    special = talk.case.known.items["special"]
    assert (special.value, special.answer) == ("full-stomach", "a full stomach")


def test_what_was_excluded_and_is_told_after_all_bars_the_drug(opened) -> None:
    """Once excluded, esmolol was told to an asthmatic, and its dose stood."""
    talk = opened("begin", "he's seventy kilos", "yes", "how much esmolol", "yes confirmed")
    talk.hears("he's asthmatic")
    assert "Another dose now of esmolol." in " ".join(texts(talk.hears("yes")))
    assert texts(talk.hears("how much esmolol"))[0] == "Told: trapped air. Then no esmolol."
    talk.hears("no asthma")
    assert texts(talk.hears("yes"))[1].startswith("Esmolol")  # the rest is excluded, as before


def test_a_dose_that_what_is_special_makes_another_is_named(opened) -> None:
    """Told in answer to its own question it changed no dose, and the pause told the old one."""
    talk = opened(*TO_SPECIAL, "how much midazolam")
    assert "Another dose now of midazolam." in texts(talk.hears("frail"))[0]
    assert "midazolam" not in talk.case.known.doses
    talk.hears("how much midazolam")
    talk.hears("nothing else")
    talk.hears("go back")  # what was special is asked anew, and is another by now
    assert "Another dose now of midazolam." in " ".join(texts(talk.hears("nothing special")))


@pytest.mark.parametrize(
    ("told", "denied"),
    [("he's allergic to latex", "not allergic to latex"), ("he's asthmatic", "no asthma")],
)
def test_the_opposite_that_is_told_after_it_has_the_last_word(opened, told, denied) -> None:
    """After a yes to that, the denial was read back again, and a yes in passing took it away."""
    talk = opened("begin", told, "yes", denied, told)
    said = texts(talk.hears("yes"))
    assert not any("Correct?" in one for one in said)
    assert talk.case.known.allergies or talk.case.known.obstruction


def test_of_two_allergies_the_one_that_waits_is_denied_too(opened) -> None:
    """It was noted that it is none, and then read back as one all the same."""
    talk = opened("begin", "allergic to penicillin and latex")
    assert texts(talk.hears("no latex allergy")) == ["I heard no latex allergy. Correct?"]
    assert texts(talk.hears("yes"))[-1] == "I heard an allergy to penicillin. Correct?"
    assert texts(talk.hears("yes"))[-1].startswith("Is oxygen on")
    assert talk.case.known.allergies == ["penicillin"]


def test_what_a_rescue_came_before_is_denied_while_that_is_asked(opened) -> None:
    """Its read-back was refused as if it stood, which ended the program."""
    talk = opened("begin", "he's asthmatic", "go for the supraglottic")
    assert texts(talk.hears("no asthma")) == ["I heard no asthma. Correct?"]
    talk.hears("yes")
    talk.hears("the consultant")
    assert (talk.case.known.fact, talk.case.known.interrupted) == (None, [])
    assert talk.case.known.obstruction is None
