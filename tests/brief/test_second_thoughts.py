"""Who says "yes" and then "but not yet" takes back the yes, also when the next item is asked."""

import pytest

from assistant.brief.answers import SECOND_THOUGHT_S
from assistant.brief.item import Standing
from assistant.brief.states import State
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

PHRASES = TypedPhrases(Phrasebook(SITE))
BAG, NEXT = "bag-and-valve", "weight"


def asked_the_bag() -> TextCase:
    case = TextCase(SITE, phrases=PHRASES, word_s=0)
    for words in ("begin", "we saw the mask held on", "fifteen litres"):
        case.hears(words)
    assert case.case.known.current == BAG
    return case


def test_but_not_yet_soon_after_an_answer_asks_that_item_again() -> None:
    """The next item's call has hardly been heard, and nobody begins an answer to it with "but"."""
    case = asked_the_bag()
    case.hears("bag connected")
    assert case.case.known.current == NEXT

    case.hears("but not yet")

    assert case.case.known.current == BAG
    assert case.case.known.items[BAG].standing is Standing.OPEN
    assert case.case.known.items[NEXT].standing is Standing.OPEN
    case.close()


def test_not_yet_soon_after_an_answer_is_the_answer_to_the_next_item() -> None:
    """Whoever answers quickly is not taken for somebody who takes something back."""
    case = asked_the_bag()
    case.hears("bag connected")

    case.hears("no")

    assert case.case.known.items[BAG].standing is Standing.DONE
    case.close()


def test_but_not_yet_later_puts_off_what_is_asked() -> None:
    """By then the call is over, and the answer before it forgotten."""
    case = asked_the_bag()
    case.hears("bag connected")
    case.waits(SECOND_THOUGHT_S + 1.0)

    case.hears("but not yet")

    assert case.case.known.items[BAG].standing is Standing.DONE
    assert case.case.known.current != BAG
    case.close()


def test_but_not_yet_after_what_was_put_off_puts_off_the_next_one_too() -> None:
    """There is no yes to take back."""
    case = TextCase(SITE, phrases=PHRASES, word_s=0)
    for words in ("begin", "we saw the mask held on", "not yet"):
        case.hears(words)
    assert case.case.known.current == NEXT

    case.hears("but not yet")

    assert case.case.known.current not in (BAG, NEXT)
    put_off = [case.case.known.items[one].standing for one in (BAG, NEXT)]
    assert put_off == [Standing.DEFERRED, Standing.DEFERRED]
    case.close()


def test_but_not_yet_to_what_was_read_back_refuses_it() -> None:
    """The item in question is the one that was read back."""
    case = asked_the_bag()
    case.hears("bag connected", sure=False)
    assert case.case.state is State.CHECKING

    case.hears("but not yet")

    assert case.case.known.items[BAG].standing is not Standing.DONE
    assert case.case.known.current == BAG
    case.close()


@pytest.mark.parametrize("words", SITE.wording.may_be_said.takes_back)
def test_what_takes_back_confirms_nothing(words: str) -> None:
    """It is a decline wherever it does not take back."""
    assert words in SITE.wording.may_be_said.decline


TO_THE_ROLES = (
    *("bag and valve on", "seven zero kilos", "yes", "nothing special"),
    "we went through the allergies",
)


def answered(*words: str) -> TextCase:
    """The brief as it is after these, from its beginning."""
    case = TextCase(SITE, phrases=PHRASES, word_s=0)
    for one in ("begin", "we saw the mask held on", *words):
        case.hears(one)
    return case


@pytest.mark.parametrize("words", ["leaking", "no it's leaking"])
def test_what_denies_the_item_before_puts_it_off_by_its_name(words) -> None:
    """In that item's own words, while the next one is asked; which is then asked again."""
    case = answered()
    asked = case.case.known.current

    said = [line.text for line in case.hears(words)]

    assert said[0] == "Oxygen on: not yet."
    assert case.case.known.items["oxygen-on"].standing is Standing.DEFERRED
    assert case.case.known.current == asked
    case.close()


def test_the_same_words_answer_the_item_that_is_asked() -> None:
    """ "No valve" is about the valve, which is asked, and not about the mask."""
    case = answered()
    case.hears("no valve")
    assert case.case.known.items["oxygen-on"].standing is not Standing.DEFERRED
    assert case.case.known.items[BAG].standing is Standing.DEFERRED
    case.close()


def test_somebody_else_may_be_named_once_the_next_item_is_asked() -> None:
    """ "The registrar. No, the paramedic": said back, and the next item is asked again."""
    case = answered(*TO_THE_ROLES, "the registrar")
    asked = case.case.known.current

    said = [line.text for line in case.hears("no the paramedic")]

    assert said[0] == "The paramedic."
    assert case.case.known.items["first-attempt"].value == "paramedic"
    assert case.case.known.current == asked
    case.close()


def test_somebody_else_who_was_not_surely_heard_is_read_back() -> None:
    """Nobody is put in another's place by half a word; a yes to the read-back does it."""
    case = answered(*TO_THE_ROLES, "the registrar")

    said = [line.text for line in case.hears("no the paramedic", sure=False)]

    assert said == ["I heard the paramedic. Correct?"]
    assert case.case.known.items["first-attempt"].standing is not Standing.DONE
    case.hears("yes")
    assert case.case.known.items["first-attempt"].value == "paramedic"
    case.close()


def test_what_begins_like_no_allergies_is_asked_back_and_settles_nothing() -> None:
    """A "no" before "no allergies" is cut off by a pause; a no to that leaves the item open."""
    case = answered(*TO_THE_ROLES[:-1], "no")
    assert [line.text for line in case.lines][-1] == "No allergies, yes?"
    assert case.case.known.items["allergies"].standing is Standing.OPEN

    case.hears("no")

    assert case.case.known.items["allergies"].standing is Standing.DEFERRED
    assert case.case.known.current == "first-attempt"
    case.hears("no allergies")
    assert [line.text for line in case.lines][-1] == "No allergies, yes?"
    case.close()


def test_a_plan_is_not_read_twice_for_a_name_put_right() -> None:
    """Only its question comes again."""
    case = answered(*TO_THE_ROLES, "the registrar", "the consultant")
    plan = SITE.brief.item("failed-attempts")
    said = [line.text for line in case.hears("no the paramedic")]
    assert said[-1] == plan.ask
    case.close()
