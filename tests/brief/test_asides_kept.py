"""What is not lost, nor said twice, when something comes in between."""

import pytest

from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State
from tests.brief.conftest import SITE
from tests.brief.test_pause_and_times import to_the_pause

TO_THE_ALLERGIES = (
    *("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes"),
    "nothing special",
)
TO_THE_PLAN = (
    *(*TO_THE_ALLERGIES, "we went through the allergies", "the registrar", "the consultant"),
)
RECIPE = "how do i mix norepinephrine infusion"


def texts(lines) -> list[str]:
    return [line.text for line in lines]


@pytest.mark.parametrize(
    "between",
    [
        ("hang on", "go on"),
        ("how much ketamine",),
        ("allergic to latex", "yes"),
        ("he's ninety kilos", "no"),
        ("end the case", "no"),
        ("cardiac arrest", "go on"),
    ],
)
def test_a_recipe_is_read_on_where_it_was(opened, between) -> None:
    """It was dropped, and "done" was heard of nothing."""
    talk = opened(*TO_THE_PLAN, RECIPE)
    step = texts(talk.hears("done"))[-1]
    assert step.startswith("Step two of four.")
    for words in between:
        said = talk.hears(words)
    assert texts(said)[-1] == step
    assert talk.case.state is State.MIXING
    assert texts(talk.hears("done"))[-1].startswith("Step three of four.")


def test_another_recipe_takes_its_place(opened) -> None:
    """And leads back to the item, not to the first recipe."""
    talk = opened(*TO_THE_PLAN, RECIPE, "how do i mix phenylephrine")
    while talk.case.state is State.MIXING:
        talk.hears("done")
    assert talk.case.state is State.ASKING
    assert talk.case.known.laid_aside is None


def test_a_drug_that_was_read_back_is_read_back_after_a_hold(opened) -> None:
    """Who says "hang on" looks the weight up."""
    talk = opened(*TO_THE_PLAN)
    read_back = texts(talk.hears("how much rocuronium"))[-1]
    talk.hears("hang on")
    assert texts(talk.hears("go on"))[-1] == read_back
    talk.hears("yes")
    assert set(talk.case.known.doses) == {"rocuronium"}


def test_a_second_allergy_is_told_after_the_first(opened) -> None:
    """The item was done by one, and "latex" was heard of nothing."""
    talk = opened(*TO_THE_ALLERGIES, "penicillin", "yes")
    asked = talk.case.known.current
    talk.hears("latex")
    talk.hears("yes")
    assert len(talk.case.known.allergies) == 2
    assert talk.case.known.current == asked


@pytest.mark.parametrize("words", ["penicillin and latex", "allergic to penicillin and latex"])
def test_two_allergies_in_one_breath_are_read_back_in_turn(opened, words) -> None:
    """Neither counts without its yes."""
    talk = opened(*TO_THE_ALLERGIES)
    assert "penicillin" in texts(talk.hears(words))[-1]
    assert not talk.case.known.allergies
    assert "latex" in texts(talk.hears("yes"))[-1]
    assert len(talk.case.known.allergies) == 1
    talk.hears("yes")
    assert len(talk.case.known.allergies) == 2


def test_a_plan_is_read_aloud_once(opened) -> None:
    """After every question in between it was a quarter of a minute anew, and so at each silence."""
    talk = opened(*TO_THE_PLAN)
    plan = SITE.brief.item("failed-attempts")
    assert plan.read_aloud[0] in talk.said[-1]
    assert texts(talk.hears("how much ketamine"))[-1] == plan.ask
    talk.waits(12)
    assert talk.said[-1] == f"Again: {plan.ask}"
    assert plan.read_aloud[0] in texts(talk.hears("say again"))[-1]


def test_a_plan_that_the_watcher_spoke_over_is_read_anew(opened) -> None:
    """Nobody has heard all of it."""
    talk = opened(*TO_THE_PLAN)
    plan = SITE.brief.item("failed-attempts")
    talk.called(92)
    assert any(plan.read_aloud[0] in one for one in talk.said[-2:])


def test_not_yet_at_the_pause_waits(opened) -> None:
    """It asked "Clear to give the drugs?" at once again."""
    talk = opened()
    to_the_pause(talk)
    assert texts(talk.hears("not yet")) == ["Holding."]
    assert texts(talk.waits(30)) == []
    assert talk.case.state is State.PAUSING
    talk.hears("clear to go")
    assert talk.case.state is State.READY


def test_a_child_s_age_told_in_digits_asks_for_no_more_of_them(opened) -> None:
    """It was refused, and its digits were asked for once more."""
    talk = opened(*TO_THE_ALLERGIES, "he's seventeen years old")
    said = texts(talk.hears("one seven"))
    assert "I only know doses for an age" in said[0]
    assert talk.case.state is State.ASKING
    assert talk.case.known.items["allergies"].standing is Standing.OPEN


def test_a_rescue_comes_before_a_recipe(opened) -> None:
    """ "Step one of three" was read out at the neck, and "yes" was its answer."""
    talk = opened("begin", "we saw the mask held on", RECIPE)
    talk.hears("can't oxygenate")
    talk.hears("yes")
    assert talk.case.known.phase is Phase.FRONT_OF_NECK
    assert talk.case.known.current == "neck-relaxed"


@pytest.mark.parametrize(
    "open_still", ["allergic to latex", RECIPE, "how much rocuronium", "twenty two centimetres"]
)
def test_the_wave_is_asked_again_before_what_is_open(opened, open_still) -> None:
    """A read-back that nobody answers kept it away; it comes again after the wave."""
    talk = opened("we must go now", "he's seventy kilos", "yes", "begin the attempt", "tube in")
    talk.hears("we saw a good wave")
    talk.hears(open_still)
    state = talk.case.state
    talk.waits(45)
    assert talk.case.known.current == "sustained-carbon-dioxide"
    talk.hears("we saw a good wave")
    assert talk.case.state is state


def test_after_a_hold_the_wave_comes_first(opened) -> None:
    """Its seven breaths have been."""
    talk = opened("we must go now", "begin the attempt", "tube in", "we saw a good wave")
    talk.hears("hang on")
    talk.waits(50)
    talk.hears("go on")
    assert talk.case.known.current == "sustained-carbon-dioxide"


def test_who_cannot_wait_keeps_the_weight_that_was_read_back(opened) -> None:
    """ "We must go now" dropped it."""
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos")
    assert "seven zero" in texts(talk.hears("we must go now"))[-1]
    talk.hears("yes")
    assert talk.case.known.weight_kg == 70


def test_a_brief_may_be_chosen_while_something_is_read_back(opened) -> None:
    """What was read back is asked again."""
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos")
    talk.hears("immediate brief")
    assert talk.case.known.weight_kg is None
    assert talk.case.known.current == "weight"


def test_a_weight_that_was_told_anew_is_read_back_after_a_restart(opened) -> None:
    """And not the old one in its place."""
    talk = opened("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
    talk.hears("he's ninety kilos")
    talk.restarts()
    assert "nine zero" in talk.said[-1]
    talk.hears("yes")
    assert talk.case.known.weight_kg == 90


def test_what_was_told_before_comes_before_the_items_that_the_next_opens(opened) -> None:
    """It awaited its yes through all of them, with nobody asked for it."""
    talk = opened("begin", "he's seventy kilos", "yes", "go now without the rest")
    talk.hears("allergic to latex")
    talk.hears("pressure one two zero over sixty")  # by which the pulse is asked for
    assert texts(talk.hears("yes"))[-1] == "I heard an allergy to latex. Correct?"
    assert "pulse" in texts(talk.hears("yes"))[-1].lower()
    assert talk.case.known.allergies == ["latex"]


def test_a_low_pressure_in_place_of_its_number_leads_to_what_was_told_before(opened) -> None:
    """So does one that nobody has a number of."""
    talk = opened("begin")
    while talk.case.known.current != "pressure":
        talk.hears("not yet")
    talk.hears("allergic to latex")
    talk.hears("the pressure is low")
    assert texts(talk.hears("yes"))[-1] == "I heard an allergy to latex. Correct?"
