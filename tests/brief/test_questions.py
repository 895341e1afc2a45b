"""Questions at any time: answered, and then what was open is asked again."""

from dataclasses import replace

import pytest

from assistant.brief.brief import Feature
from assistant.brief.prompts import say_elapsed
from assistant.brief.states import QUESTIONS, State
from assistant.grammar.readings import Reading, Verdict
from assistant.language.tongue import ENGLISH
from tests.brief.conftest import Table

VALUES = {
    "dose": {"drug": "ketamine"},
    "dose_low_pressure": {"drug": "ketamine"},
    "volume": {"drug": "ketamine"},
    "maximum": {"drug": "rocuronium"},
    "mix": {"drug": "phenylephrine"},
    "size_of": {"thing": "blade"},
    "cylinder": {"cylinder": "transport", "bar": 100.0, "litres": 15.0},
    "who": {"task": "first-attempt"},
    "first_steps": {"first_steps": "vomit"},
}


def tags(lines):
    return [line.tag for line in lines]


@pytest.mark.parametrize("question", QUESTIONS)
def test_every_question_is_answered_and_the_item_asked_again(table, question):
    """In the middle of an item each is answered at once, and the item follows."""
    table.tell("weight", kilograms=82.0)
    table.hear("start")

    said = table.hear(question, **VALUES.get(question, {}))

    assert len(said) >= 2
    assert said[-1].tag == "ask"
    assert said[-1].item == "oxygen-on"
    assert table.case.state is State.ASKING


@pytest.mark.parametrize(
    ("facts", "breaths"),
    [([], "eighteen"), (["acidosis"], "thirty"), (["acidosis", "obstruction"], "ten")],
)
def test_the_ventilator_is_set_for_what_was_told_of_the_breathing(table, facts, breaths):
    """Faster against acid, slower where air gets out slowly, and that goes first."""
    for fact in facts:
        table.tell(fact)
    said = table.hear("ventilator")[0].text
    assert f": {breaths} breaths a minute, " in said
    assert "plateau at most thirty" in said


def test_a_dose_for_the_patient_names_the_drug_and_the_weight_first(table):
    """With a confirmed weight the answer comes at once."""
    table.tell("weight", kilograms=70.0)

    said = table.hear("dose", drug="etomidate")

    # Etomidate label, usually 0.3 mg/kg: 21 mg, at 2 mg/mL 10.5 mL, in marks of 1 mL.
    assert said[0].text.startswith(
        "Etomidate for induction, seventy kilograms total weight: twenty-one milligrams."
    )
    told = next(row for row in table.rows if row.data["event"] == "dose-told")
    assert (told.data["dose"], told.data["unit"], told.data["volume_ml"]) == ("21", "mg", "11")


@pytest.mark.parametrize("drug", ["rocuronium", "vecuronium"])
def test_rocuronium_and_vecuronium_are_asked_apart(table, drug):
    """However surely one was heard: the other's dose is another one by the tenfold."""
    table.tell("weight", kilograms=70.0)
    said = table.hear("dose", drug=drug)
    other = {"rocuronium": "vecuronium", "vecuronium": "rocuronium"}[drug]
    named = f"{drug.capitalize()}, not {other}"
    assert said[0].text == f"{named}, for seventy: seven zero, kilograms. Correct?"
    assert tags(table.hear("confirm")) == ["dose"]


def test_the_frail_get_the_reduced_dose_that_a_source_has(site):
    """A site's feature with the id `frail`, once it was told; until then the usual dose."""
    frail = Feature(id="frail", called="frailty", said=("frail",))
    brief = site.brief.model_copy(update={"features": (*site.brief.features, frail)})
    table = Table(replace(site, brief=brief))
    table.tell("weight", kilograms=70.0)
    assert table.hear("dose", drug="propofol")[0].text.startswith("Propofol for induction, seventy")
    table.tell("feature_told", feature="frail")
    said = table.hear("dose", drug="propofol")
    assert said[0].text.startswith("Propofol for induction, reduced for frailty, seventy")


def test_a_drug_that_was_not_surely_heard_is_read_back(table):
    """Probably etomidate, whose name is like no other: drug and weight are read back first."""
    table.tell("weight", kilograms=70.0)
    doubtful = Reading("dose of etomidate", "dose", {"drug": "etomidate"}, 0.5, Verdict.ASK)

    said = table.run(table.caller.unsure(doubtful))

    assert tags(said) == ["quote"]
    assert said[0].text == "Etomidate, for seventy: seven zero, kilograms. Correct?"
    assert tags(table.hear("confirm")) == ["dose"]


def test_a_drug_with_another_hardly_behind_is_read_back(table):
    """However sure it is that a dose was asked for, which drug is not; also one that sounds like no
    other."""
    table.tell("weight", kilograms=70.0)
    close = Reading(
        "dose of ketamine",
        "dose",
        {"drug": "ketamine"},
        0.99,
        Verdict.ACCEPT,
        runner_up={"drug": "etomidate"},
    )

    assert tags(table.run(table.caller.heard(close))) == ["quote"]


def test_a_fixed_dose_needs_no_weight(table):
    """A pressor bolus is told without one; an induction dose is not."""
    assert "fixed dose: one milligram." in table.hear("dose", drug="atropine")[0].text
    assert tags(table.hear("dose", drug="epinephrine/infusion")) == ["no-weight"]


def test_a_name_that_sounds_like_another_is_read_back(table):
    """Phenylephrine and epinephrine are taken for one another: never a dose on the ear alone."""
    said = table.hear("dose", drug="phenylephrine")
    assert [(line.tag, line.text) for line in said] == [
        ("quote", "Phenylephrine, not epinephrine or norepinephrine. Correct?")
    ]
    assert "one hundred micrograms" in table.hear("confirm")[0].text


def test_what_bars_a_drug_is_asked_before_its_dose(table):
    """Succinylcholine: high potassium and the like must be excluded, once a case."""
    table.tell("weight", kilograms=70.0)
    asked = table.hear("dose", drug="succinylcholine")
    assert tags(asked) == ["check"]
    assert "potassium" in asked[0].text

    told = table.hear("confirm")

    assert told[0].text.startswith("Succinylcholine for paralysis")
    assert tags(table.hear("dose", drug="succinylcholine")) == ["dose"]


def test_what_is_not_excluded_bars_the_dose(table):
    """A no to the question means no dose, and it is asked again the next time."""
    table.tell("weight", kilograms=70.0)
    table.hear("dose", drug="succinylcholine")

    said = table.hear("decline")

    assert said[0].text == "Then no succinylcholine. Ask for another relaxant."
    assert not [row for row in table.rows if row.data["event"] == "dose-told"]
    assert tags(table.hear("dose", drug="succinylcholine")) == ["check"]


def test_a_what_if_too_is_asked_what_bars_it(table):
    """First drug and weight are confirmed, then the question, then the dose."""
    table.hear("dose", drug="succinylcholine", weight_kg=90.0)
    assert tags(table.hear("confirm")) == ["check"]
    assert table.hear("confirm")[0].text.startswith("For that weight only")


def test_the_low_pressure_dose_goes_by_the_patients_state(table):
    """Once the pressure was said to be low, the separate dose is told, and named so."""
    table.tell("weight", kilograms=80.0)
    assert "low pressure" not in table.hear("dose", drug="ketamine")[0].text
    table.tell("pressure_low")

    said = table.hear("dose", drug="ketamine")

    assert "for induction, low pressure dose, eighty kilograms" in said[0].text
    assert "sixty, six zero, milligrams" in said[0].text
    assert "lowers the pressure" in table.hear("dose", drug="dexmedetomidine")[0].text


def test_the_old_get_their_dose_once_the_age_was_told(table):
    """Told like any other fact; from then on the reduced dose is told, and named so."""
    table.tell("weight", kilograms=70.0)
    assert "reduced" not in table.hear("dose", drug="etomidate")[0].text
    table.tell("age", years=82.0)
    assert (
        "Etomidate for induction, reduced for age" in table.hear("dose", drug="etomidate")[0].text
    )


def test_a_further_allergy_is_told_with_every_dose(table):
    """It bars no drug by itself, so nobody knows which one it concerns."""
    table.tell("allergy", allergen="latex")
    assert table.case.known.allergies == ["latex"]
    for drug in ("atropine", "glycopyrrolate"):
        told = table.hear("dose", drug=drug)[0].text
        assert told.startswith(f"This patient is allergic to latex. {drug.capitalize()} for a slow")


def test_an_allergy_of_the_drugs_is_told_with_those_only(table):
    """Opioids with hydromorphone, not with atropine."""
    table.tell("allergy", allergen="opioids")
    assert "allergic to opioids" in table.hear("dose", drug="hydromorphone")[0].text
    assert "allergic" not in table.hear("dose", drug="atropine")[0].text


def test_a_low_pressure_dose_is_told_to_whoever_asks_for_it(table):
    """Nobody has to tell the pressure first: who asks for it sees that it is low."""
    table.tell("weight", kilograms=80.0)

    said = table.hear("dose_low_pressure", drug="ketamine")

    assert "for induction, low pressure dose, eighty kilograms" in said[0].text
    assert "sixty, six zero, milligrams" in said[0].text


def test_asked_for_a_low_pressure_dose_that_there_is_not(table):
    """It says so, and tells the usual one."""
    table.tell("weight", kilograms=80.0)
    said = table.hear("dose_low_pressure", drug="lidocaine")
    assert said[0].text.startswith("There is no separate dose for low pressure here. Lidocaine")


def test_a_what_if_outside_the_adult_range_gets_no_dose(table):
    """Twelve kilograms as a what-if is refused with the reason."""
    table.hear("dose", drug="rocuronium", weight_kg=12.0)
    said = table.hear("confirm")
    assert tags(said) == ["dose-refused"]
    assert "from thirty to two hundred kilograms" in said[0].text


@pytest.mark.parametrize("question", ["dose", "dose_low_pressure", "volume", "maximum", "mix"])
def test_a_drug_that_is_not_here_is_refused_by_name(table, question):
    """It says so and offers nothing."""
    table.tell("weight", kilograms=80.0)

    said = table.hear(question, drug="thiopental")

    assert said[0].text == ("Thiopental is not on this formulary. I suggest no substitute.")
    assert table.case.state is State.OPENED


def test_a_recipe_is_read_out_step_by_step(table):
    """Each step waits for its yes; a no waits on; the end names the strength."""
    table.hear("start")
    first = table.hear("mix", drug="epinephrine")
    assert first[0].text.startswith("Step one of three. Draw up one millilitre of epinephrine")
    assert tags(table.hear("decline")) == ["mix-not-yet"]
    assert table.case.known.mixing.step == 0

    assert table.hear("confirm")[0].text == (
        "Step two of three. Add nine millilitres of saline: ten millilitres in all."
    )
    assert "Step three of three" in table.hear("confirm")[0].text
    done = table.hear("confirm")

    assert done[0].text == "Mixed: epinephrine, ten micrograms per millilitre."
    assert done[-1].item == "oxygen-on"


def test_another_use_of_a_drug_is_mixed_by_its_own_recipe(table):
    """The infusion's bag and not the push-dose syringe."""
    said = table.hear("mix", drug="epinephrine/infusion")
    assert said[0].text == (
        "Step one of four. Take four millilitres out of a bag of two hundred and fifty millilitres "
        "of five percent dextrose."
    )
    assert table.hear("confirm")[0].text == (
        "Step two of four. Draw up four millilitres of epinephrine, one milligram per millilitre. "
        "Not from one hundred micrograms per millilitre."
    )
    assert "Put the four millilitres into the bag." in table.hear("confirm")[0].text


def test_the_maximum(table):
    """Of lidocaine 200 mg in all (its label: 200 to 300 mg in an hour); of an infusion its rate."""
    said = table.hear("maximum", drug="lidocaine")
    assert said[0].text == "Lidocaine before laryngoscopy: at most two hundred milligrams in all."
    said = table.hear("maximum", drug="norepinephrine")
    assert said[0].text == (
        "Norepinephrine infusion for low blood pressure: highest rate to start with twelve "
        "micrograms per minute."
    )


def test_the_tidal_volume_goes_by_height_and_sex(table):
    """Unknown they are asked for by name; 173 cm, male: 412 mL at 6 mL/kg (published example)."""
    assert "the height and the sex" in table.hear("predicted_weight")[0].text
    table.tell("height", centimetres=173.0)
    table.tell("male")
    assert "four hundred and twelve millilitres" in table.hear("predicted_weight")[0].text


def test_the_saturation_is_told_while_it_is_new(table):
    """In few words; too old, lost or never seen, there is none."""
    assert tags(table.hear("saturation")) == ["told"]
    assert table.lines[-1].text.startswith("I have no saturation")
    table.pass_time(100.0)
    table.caller.saturation_is(96, 99.2)
    assert table.hear("saturation")[0].text == "Saturation ninety-six percent."
    table.pass_time(2.0)
    assert table.hear("saturation")[0].text == "Saturation ninety-six percent."
    table.pass_time(1.0)
    assert table.hear("saturation")[0].text.startswith("I have no saturation")
    table.caller.saturation_is(None, 103.0)
    assert table.hear("saturation")[0].text.startswith("I have no saturation")


def test_how_long_it_has_been(table):
    """Each running clock, and the item that is asked."""
    assert table.hear("elapsed")[0].text == "Nothing is being timed."
    table.hear("start")
    table.hear("confirm")
    table.pass_time(65)

    said = table.hear("elapsed")

    assert [line.text for line in said[:-1]] == [
        "Oxygen on: one minute, five seconds.",
        "Nasal oxygen: one minute, five seconds.",
    ]


def test_how_long_it_has_been_is_unknown_across_a_restart_of_the_machine(table):
    """Neither the clock nor the item that is asked gets a time that nobody measured."""
    table.hear("start")
    table.hear("confirm")
    table.pass_time(65)
    table.run(table.caller.restarted(rebooted=True))

    said = table.hear("elapsed")

    assert [line.text for line in said[:-1]] == [
        "Oxygen on: unknown since the restart.",
        "Nasal oxygen: unknown since the restart.",
    ]


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0.2, "zero seconds"),
        (1, "one second"),
        (59.6, "one minute"),
        (120, "two minutes"),
        (3601, "sixty minutes, one second"),
    ],
)
def test_elapsed_time_for_the_ear(seconds, said):
    """Minutes and seconds, to the nearest second."""
    assert say_elapsed(seconds, ENGLISH) == said


def test_who_does_what(table):
    """Nobody before it was asked; then the role that was named."""
    assert table.hear("who", task="first-attempt")[0].text == (
        "First attempt: nobody is named yet."
    )
    table.hear("start")
    table.answer_until("next-attempt")
    assert table.hear("who", task="first-attempt")[0].text == "First attempt: the consultant."


def test_the_plan_says_whether_it_was_agreed(table):
    """Before the team has agreed it says so."""
    assert table.hear("plan")[0].text.startswith("Not agreed yet. Up to three attempts")
    table.hear("start")
    table.answer_until("access")
    assert table.hear("plan")[0].text.startswith("Up to three attempts")


def test_a_dose_that_leaves_its_label_says_so_itself(table):
    """The site's reason comes with that drug's own answer, and with no other."""
    table.tell("weight", kilograms=82.0)
    reason = "Succinylcholine for paralysis is above its label"

    table.hear("dose", drug="succinylcholine")
    (dose, *_) = table.hear("confirm")
    (other, *_) = table.hear("dose", drug="lidocaine")

    assert dose.tag == other.tag == "dose"
    assert reason in dose.text
    assert "label" not in other.text.replace("Check the label in hand.", "")
    assert not any(reason in line.text for line in table.lines[:1])


def test_a_question_interrupts_a_read_back_which_comes_again_after_it(table):
    """The half-heard value is neither taken nor forgotten."""
    table.hear("start")
    table.answer_until("weight")
    table.hear("number", number=82.0)

    said = table.hear("dose", drug="atropine")

    assert "eight two" in said[-1].text
    assert table.case.state is State.CHECKING
    assert table.case.known.weight_kg is None
    assert table.case.known.current == "weight"


@pytest.mark.parametrize(
    "before",
    [
        ("end the case",),
        ("he's seventy kilos",),
        ("he's seventy kilos", "yes", "how much rocuronium"),
        ("he's seventy kilos", "yes", "how do i mix ketamine"),
    ],
)
def test_what_is_left_is_never_met_with_silence(opened, before) -> None:
    """Once a question had been asked three times, nothing but its answer was heard."""
    talk = opened("begin", *before)
    stands, state = talk.lines[-1].tag, talk.case.state
    talk.waits(60)
    assert talk.hears("what is left")[-1].tag == stands
    assert talk.case.state is state


def test_who_goes_on_is_asked_whether_to_end_the_case(opened) -> None:
    """It is neither a yes nor a no to that."""
    talk = opened("begin", "end the case")
    assert tags(talk.hears("go on")) == ["closing"]
