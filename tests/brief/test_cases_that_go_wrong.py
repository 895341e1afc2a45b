"""What a team says when a case goes wrong, and what must not be left standing then."""

import pytest

from assistant.brief.phases import Phase
from assistant.brief.states import State
from tests.brief.conftest import SITE
from tests.brief.test_pause_and_times import to_the_pause

PLAN, VITAL = SITE.brief.attempts, SITE.wording.vital
TUBE = ("we must go now", "begin the attempt", "tube in", "we saw a good wave")


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def with_doses(opened):
    """A case at the pause, with the doses of two drugs told for seventy kilograms."""
    talk = opened()
    to_the_pause(talk)
    for words in ("dose of rocuronium", "yes correct", "dose of ketamine"):
        talk.hears(words)
    assert set(talk.case.known.doses) == {"rocuronium", "ketamine"}
    return talk


def test_a_dose_for_another_weight_is_not_summed_up_any_more(opened) -> None:
    """Nor recorded as given: it has to be asked for again."""
    talk = with_doses(opened)
    talk.hears("he's ninety kilos")
    said = texts(talk.hears("yes correct"))
    assert "Another dose now of rocuronium, ketamine. Ask again, before any goes in." in said
    talk.hears("repeat that")
    assert "Ninety kilograms." in talk.said[-1]
    assert "Another dose now of rocuronium, ketamine." in talk.said[-1]
    assert "milligrams" not in talk.said[-1]
    assert texts(talk.hears("rocuronium in"))[0] == "Rocuronium in."


def test_the_same_weight_once_more_changes_no_dose(opened) -> None:
    """What was told holds."""
    talk = with_doses(opened)
    talk.hears("he's seventy kilos")
    assert not any("Another dose" in one for one in texts(talk.hears("yes correct")))
    assert set(talk.case.known.doses) == {"rocuronium", "ketamine"}


def test_only_what_a_low_pressure_changes_is_named(opened) -> None:
    """Ketamine has another dose then, rocuronium has none of its own here."""
    talk = with_doses(opened)
    talk.hears("the pressure is low")
    assert "Another dose now of ketamine. Ask again, before any goes in." in texts(
        talk.hears("yes correct")
    )
    assert set(talk.case.known.doses) == {"rocuronium"}


def test_a_dose_that_went_in_stays_on_record_as_it_was(opened) -> None:
    """A weight that is put right later changes what was given no more."""
    talk = with_doses(opened)
    talk.hears("rocuronium in")
    talk.hears("he's ninety kilos")
    said = texts(talk.hears("yes correct"))
    assert "Another dose now of ketamine. Ask again, before any goes in." in said
    assert [(one.drug, one.dose) for one in talk.case.known.given] == [("rocuronium", "84")]


@pytest.mark.parametrize(
    ("allergy", "named"),
    [
        ("he's allergic to rocuronium", "rocuronium"),
        ("allergic to muscle relaxants", "muscle relaxants"),
        ("allergic to vecuronium", "vecuronium, of the muscle relaxants"),
    ],
)
def test_an_allergy_that_is_told_late_names_the_drug_that_it_bars(opened, allergy, named) -> None:
    """Its dose was told already, and it is not in yet."""
    talk = with_doses(opened)
    talk.hears(allergy)
    said = texts(talk.hears("yes correct"))
    assert f"Rocuronium: this patient is allergic to {named}." in said


def test_a_second_dose_is_told_to_be_one(opened) -> None:
    """The first is in."""
    talk = with_doses(opened)
    talk.hears("clear to go")
    talk.hears("rocuronium in")
    talk.hears("dose of rocuronium")
    assert texts(talk.hears("yes correct"))[0].startswith("Rocuronium is in. Rocuronium for")


@pytest.mark.parametrize("words", ["can't bag", "we can't ventilate"])
@pytest.mark.parametrize(
    ("before", "says"),
    [
        (("begin",), VITAL.cannot_ventilate),
        (("drugs in",), VITAL.cannot_ventilate),
        (TUBE, SITE.wording.says.worse),
        (("begin the attempt", "attempt failed"), PLAN.supraglottic),
        (("supraglottic in",), VITAL.cannot_oxygenate),
    ],
)
def test_no_breath_means_what_the_case_makes_of_it(opened, words, before, says) -> None:
    """The neck only in a rescue, and the rescue after an attempt; "can't oxygenate" means the neck
    always."""
    talk = opened(*before)
    assert says in texts(talk.hears(words))
    assert (talk.case.known.phase is Phase.FRONT_OF_NECK) == (says == VITAL.cannot_oxygenate)
    talk.hears("can't oxygenate")
    assert talk.case.known.phase is Phase.FRONT_OF_NECK


@pytest.mark.parametrize("words", ["lost the wave", "lost the trace", "the wave's gone"])
def test_a_wave_that_is_lost_later_is_heard(opened, words) -> None:
    """Not only while it is asked for."""
    talk = opened(*TUBE)
    said = texts(talk.hears(words))
    assert "No wave: take it out and bag, unless proven otherwise." in said
    assert talk.case.known.phase is Phase.BETWEEN


@pytest.mark.parametrize("words", ["we're in", "tube's in"])
def test_in_means_through_the_neck_where_that_is_opened(opened, words) -> None:
    """And no attempt by mouth is counted."""
    talk = opened("begin the attempt", "attempt failed", "can't oxygenate", "extended", "relaxed")
    said = texts(talk.hears(words))
    assert said[0] == VITAL.neck_open
    assert (talk.case.known.phase, len(talk.case.known.attempts)) == (Phase.NECK_OPEN, 1)


def test_drugs_that_went_in_early_are_not_asked_for_again(opened) -> None:
    """What is left is asked, and then what is asked once they are in."""
    talk = opened("begin", "drugs in")
    said: list[str] = []
    while talk.case.known.phase is Phase.BEFORE:
        said += texts(talk.hears("not yet"))
    assert not any("the drugs went in" in one for one in said)
    assert "Pace the bag?" in said[-1]


def test_an_awake_brief_asks_for_no_drugs(opened) -> None:
    """Nor, after an attempt that failed, for the bag: the patient breathes."""
    talk = opened("awake brief")
    while talk.case.state is State.ASKING:
        talk.hears("not yet")
    assert talk.said[-1].endswith("Clear to begin?")
    assert texts(talk.hears("clear to begin")) == ["That was all. Say: begin the attempt."]
    talk.hears("begin the attempt")
    said = texts(talk.hears("attempt failed"))
    assert PLAN.after_failure[0].say_breathing in said
    assert PLAN.after_failure[0].say not in said
    assert talk.case.known.current == "what-changes"


def test_with_drugs_in_it_is_no_awake_brief_any_more(opened) -> None:
    """The patient does not breathe."""
    talk = opened("awake brief", "drugs in", "begin the attempt")
    assert PLAN.after_failure[0].say in texts(talk.hears("attempt failed"))


@pytest.mark.parametrize(
    ("answer", "then"), [("it's not coming up", PLAN.oxygen_not_back), ("back up", PLAN.ready)]
)
def test_nobody_is_told_to_look_again_without_oxygen(opened, answer, then) -> None:
    """Where the saturation does not come back, a supraglottic airway is next."""
    talk = opened("begin the attempt", "attempt failed", "no", "a bougie", "the consultant")
    assert talk.case.known.current == "oxygen-back"
    assert texts(talk.hears(answer))[-1] == then


def test_a_pulse_that_is_back_ends_the_clock_of_the_arrest(opened) -> None:
    """And its silence, so that the brief goes on; the handover tells for how long."""
    talk = opened("begin", "he's arrested")
    talk.waits(130)
    said = texts(talk.hears("we've got a pulse"))
    assert said[0].startswith("Pulse back, after ")
    assert said[1] == SITE.brief.item("oxygen-on").ask
    assert talk.case.state is State.ASKING
    assert "Arrest for two minutes" in texts(talk.hears("handover please"))[0]


def test_a_pulse_without_an_arrest_says_nothing(opened) -> None:
    """Room talk, mostly."""
    talk = opened("begin")
    assert not any("Pulse" in one for one in texts(talk.hears("we have a pulse")))


def test_a_number_is_corrected_with_the_right_one(opened) -> None:
    """Told as a fact or asked for; and the right one is read back as well."""
    talk = opened("begin", "the weight is seventy kilos")
    assert "I heard eighty" in texts(talk.hears("no eighty"))[-1]
    talk.hears("yes correct")
    assert talk.case.known.weight_kg == 80


def test_the_last_answer_can_be_taken_back_at_the_pause(opened) -> None:
    """Then it is asked again, and the pause comes after it."""
    talk = opened()
    to_the_pause(talk)
    last = talk.case.known.trail[-1]
    talk.hears("go back")
    assert (talk.case.state, talk.case.known.current) == (State.ASKING, last)


def test_what_was_told_in_a_hold_is_asked_on_after_it(opened) -> None:
    """A low pressure opens items, also where all was done before."""
    talk = opened()
    talk.hears("usual brief")
    while talk.case.state is State.ASKING:
        talk.hears("not yet")
    talk.hears("clear to go")
    talk.hears("wait")
    talk.hears("bp seventy over forty")
    talk.hears("yes correct")
    talk.hears("go on")
    assert talk.case.state is State.ASKING


def test_all_that_was_told_in_a_row_is_read_back(opened) -> None:
    """One after the other, none lost, and none again once it is settled."""
    talk = opened("begin", "the weight is seventy kilos", "yes correct")
    for words in ("he's ninety kilos", "allergic to latex", "the pressure is low"):
        talk.hears(words)
    for _ in range(3):
        assert talk.case.state is State.STATING
        talk.hears("yes correct")
    known = talk.case.known
    assert (known.weight_kg, known.allergies, known.low_pressure) == (90, ["latex"], True)
    assert talk.case.state is State.ASKING


@pytest.mark.parametrize("between", ["cardiac arrest", "hold on", "we must go now"])
def test_a_weight_that_awaits_its_yes_is_read_back_before_a_dose(opened, between) -> None:
    """Also where the brief was stopped meanwhile."""
    talk = opened("begin", "the weight is seventy kilos", "yes correct", "he's ninety kilos")
    talk.hears(between)
    said = texts(talk.hears("dose of ketamine"))
    assert said[-1].startswith("I heard ninety")
    talk.hears("yes correct")
    assert "ninety kilograms" in texts(talk.hears("dose of ketamine"))[0]


def test_a_pressure_that_awaits_its_yes_comes_before_a_dose_that_goes_by_it(opened) -> None:
    """The full dose is not told first."""
    talk = opened("begin", "the weight is seventy kilos", "yes correct", "the pressure is low")
    assert "milligrams" not in "".join(texts(talk.hears("dose of ketamine")))
    talk.hears("yes correct")
    assert "fifty-two point five milligrams" in texts(talk.hears("dose of ketamine"))[0]


def test_a_weight_is_corrected_where_it_was_read_back_with_a_drug(opened) -> None:
    """A yes after it is to the right one."""
    talk = opened("begin", "the weight is seventy kilos", "yes correct", "dose of rocuronium")
    assert texts(talk.hears("no eighty"))[-1].startswith("I heard eighty")
    talk.hears("yes correct")
    assert talk.case.known.weight_kg == 80
    talk.hears("dose of rocuronium for seventy kilos")
    assert "for ninety" in texts(talk.hears("no ninety"))[-1]


def test_a_closed_loop_is_no_second_dose(opened) -> None:
    """Said back by who gave it; later it is one."""
    talk = with_doses(opened)
    talk.hears("clear to go")
    talk.hears("rocuronium in")
    talk.hears("rocuronium in")
    assert len(talk.case.known.given) == 1
    talk.waits(90)
    talk.hears("rocuronium in")
    assert len(talk.case.known.given) == 2


def test_a_dose_of_the_brief_is_not_the_one_for_an_arrest(opened) -> None:
    """It is told so, and not recorded as given."""
    talk = opened(
        "the weight is seventy kilos", "yes correct", "cardiac arrest", "dose of adrenaline"
    )
    assert texts(talk.hears("yes correct"))[0].startswith("Not the dose for an arrest.")
    talk.hears("adrenaline in")
    assert [one.dose for one in talk.case.known.given] == [None]


@pytest.mark.parametrize("ends", ["drugs in", "rocuronium in"])
def test_the_pause_is_over_once_the_drugs_are_in(opened, ends) -> None:
    """Also where something was read back at it; then the bag is offered."""
    talk = opened()
    to_the_pause(talk)
    talk.hears("the pressure is low")
    talk.hears(ends)
    said = texts(talk.hears("yes correct"))
    while talk.case.state is State.PAUSING or talk.case.state is State.STATING:
        said = texts(talk.hears("yes correct"))
    assert talk.case.known.phase is Phase.INDUCTION
    assert "Pace the bag?" in said[-1]


def test_no_wave_before_anything_is_in_is_no_failed_attempt(opened) -> None:
    """It is about the machine that is being tested."""
    talk = opened("begin")
    talk.hears("lost the trace")
    assert (talk.case.known.attempts, talk.case.state) == ([], State.ASKING)
    talk.hears("can't bag")
    assert talk.case.known.phase is Phase.BEFORE


@pytest.mark.parametrize("words", ["can't get it in", "tube out"])
def test_a_rescue_is_not_left_for_an_attempt_that_nobody_began(opened, words) -> None:
    """What will not go in there is the rescue's own."""
    talk = opened("we must go now", "drugs in", "can't oxygenate")
    talk.hears(words)
    assert talk.case.known.phase is Phase.FRONT_OF_NECK


def test_tube_in_said_twice_at_the_neck_stays_there(opened) -> None:
    """And in its words."""
    talk = opened("can't oxygenate", "tube in", "tube in")
    assert talk.case.known.phase is Phase.NECK_OPEN


def test_what_an_airway_that_works_is_asked_back_for_is_asked_back_each_time(opened) -> None:
    """Talk of another tube, twice, takes none out."""
    talk = opened(*TUBE)
    for _ in range(2):
        assert texts(talk.hears("it won't go in")) == [VITAL.asked_back.tube_out]
    talk.hears("no")
    assert talk.case.known.phase is Phase.AFTER


def test_a_hold_after_a_vital_word_leaves_nobody_unheard(opened) -> None:
    """What the vital word had laid aside was dropped by the hold: the case goes on without it."""
    talk = opened("begin", "the weight is seventy kilos", "yes correct", "dose of rocuronium")
    for words in ("attempt failed", "hang on", "go on"):
        talk.hears(words)
    assert talk.case.known.current is not None
    assert texts(talk.hears("repeat that")) != []


def test_at_the_neck_nothing_of_the_brief_before_is_asked_again(opened) -> None:
    """ "No wait" there is about something else."""
    talk = opened("begin", "we saw the mask held on", "can't oxygenate")
    talk.waits(30)
    talk.hears("no wait")
    assert talk.case.known.current == "neck-extended"


def test_two_arrests_are_handed_over_together(opened) -> None:
    """The time of both."""
    talk = opened("drugs in")
    for _ in range(2):
        talk.hears("he's arrested")
        talk.waits(60)
        talk.hears("we've got a pulse")
    assert "Arrest for two minutes" in texts(talk.hears("handover please"))[0]


def test_a_weight_that_is_no_adults_puts_the_known_one_in_doubt(opened) -> None:
    """Before any dose it is confirmed again."""
    talk = opened("the weight is seventy kilos", "yes correct", "the weight is two five kilos")
    said = texts(talk.hears("dose of ketamine"))
    assert said[-1].startswith("I heard seventy")
    talk.hears("yes correct")
    assert "milligrams" in texts(talk.hears("dose of ketamine"))[0]


def test_there_is_no_dose_for_a_child(opened) -> None:
    """Until an adult's age is told."""
    talk = opened("the weight is fifty kilos", "yes correct", "he's twelve years old")
    assert "milligrams" not in "".join(texts(talk.hears("dose of ketamine")))
    talk.hears("he's forty two years old")
    talk.hears("yes correct")
    assert "milligrams" in texts(talk.hears("dose of ketamine"))[0]


@pytest.mark.parametrize(
    ("way_in", "says"),
    [(TUBE, "Tube in on attempt one."), (("supraglottic in",), "Supraglottic airway in.")],
)
def test_what_is_in_is_handed_over_while_the_patient_wakes_up(opened, way_in, says) -> None:
    """And once it is out, it is not; nor has an attempt failed by that."""
    talk = opened(*way_in, "wake him up")
    assert says in texts(talk.hears("handover please"))[0]
    talk.hears("tube's out")
    assert "No tube in." in texts(talk.hears("handover please"))[0]
    assert (talk.case.known.phase, talk.case.known.current) == (Phase.WAKE_UP, "relaxant-reversed")


@pytest.mark.parametrize("words", ["no wait", "scratch that"])
def test_an_attempt_that_did_not_begin_is_taken_back(opened, words) -> None:
    """At once, and the brief goes on; later these words are about something else."""
    talk = opened("begin", "going in now")
    assert texts(talk.hears(words))[0] == "Taken back: going in now."
    assert (talk.case.known.attempts, talk.case.state) == ([], State.ASKING)
    talk.hears("going in now")
    talk.waits(40)
    assert texts(talk.hears(words)) == []
    assert talk.case.state is State.ATTEMPTING


def test_half_heard_nothing_is_asked_of_who_looks(opened) -> None:
    """Not even once more."""
    talk = opened("begin the attempt")
    assert texts(talk.hears("no wait", sure=False)) == []


def test_a_weight_that_is_put_right_names_the_drugs_that_are_in_for_another(opened) -> None:
    """Once, and those alone whose dose is another one by it."""
    talk = with_doses(opened)
    for words in ("clear to go", "rocuronium in", "ketamine in", "the weight is ninety kilos"):
        talk.hears(words)
    said = texts(talk.hears("yes"))
    assert "in, for another weight." in said[1]
    assert "ocuronium" in said[1]
    assert "etamine" in said[1]
    talk.hears("the pressure is low")
    assert not any("another weight" in one for one in texts(talk.hears("yes")))


@pytest.mark.parametrize("words", ["leaking", "no, leaking"])
def test_what_is_said_not_to_be_so_at_its_read_back_is_put_off(opened, words) -> None:
    """It was dropped, and asked again at once."""
    talk = opened("begin", "oxygen on")
    assert texts(talk.hears(words)) == ["Later.", "Bag and peep valve?"]
