"""The patient by voice: nothing counts before it was read back and confirmed."""

import pytest

from assistant.brief.case import Case
from assistant.brief.item import Standing
from assistant.brief.states import State
from assistant.grammar.readings import Reading, Verdict


def tags(lines):
    return [line.tag for line in lines]


@pytest.mark.parametrize(
    ("meaning", "values", "read_back", "figure", "value"),
    [
        ("weight", {"kilograms": 82.0}, "eighty-two: eight two, kilograms", "weight_kg", 82),
        # 160 lb x 0.45359237 = 72.57 kg
        ("weight_pounds", {"pounds": 161.0}, "seventy-three: seven three, kilograms",
         "weight_kg", 73),
        ("height", {"centimetres": 181.0}, "one eight one, centimetres", "height_cm", 181),
        # 68 inches x 2.54 = 172.72 cm
        ("height_feet", {"feet": 68.0}, "one seven three, centimetres", "height_cm", 173),
        ("age", {"years": 54.0}, "fifty-four: five four, years", "age_years", 54),
        ("female", {}, "a woman", "sex", "female"),
        ("male", {}, "a man", "sex", "male"),
        ("pressure_low", {}, "blood pressure low", "low_pressure", True),
        ("pressure_recovered", {}, "blood pressure no longer low", "low_pressure", False),
        ("allergy", {"allergen": "opioids"}, "an allergy to opioids", "allergies", ["opioids"]),
    ],
)  # fmt: skip
def test_a_fact_counts_once_its_read_back_is_confirmed(
    *, table, meaning, values, read_back, figure, value
):
    """Read back, in kilograms and centimetres, digit by digit; known after the yes, on record."""
    before = getattr(table.case.known, figure)

    said = table.hear(meaning, **values)

    assert read_back in said[-1].text
    assert getattr(table.case.known, figure) == before
    assert table.case.state is State.STATING
    table.hear("confirm")
    assert getattr(table.case.known, figure) == value
    assert table.case.state is State.OPENED
    assert table.rows[-1].data["event"] == "fact-taken"


def test_a_refused_fact_is_forgotten(table):
    """The old value stays when the new one was misheard."""
    table.tell("height", centimetres=181.0)
    table.hear("height", centimetres=161.0)

    said = table.hear("decline")

    assert tags(said) == ["refused"]
    assert table.case.known.height_cm == 181


def test_a_fact_in_the_middle_of_an_item(table):
    """It is settled, and then the item is asked again."""
    table.hear("start")

    said = table.tell("weight", kilograms=82.0)

    assert tags(said) == ["noted", "ask"]
    assert said[1].item == "oxygen-on"
    assert table.case.known.items["weight"].standing is Standing.DONE
    table.answer_until("allergies")
    assert table.case.known.weight_kg == 82


def test_the_weight_told_as_a_sentence_answers_its_item(table):
    """Asked for the weight, "the weight is" is its answer, read back like any."""
    table.hear("start")
    table.answer_until("weight")
    table.hear("weight", kilograms=82.0)
    assert table.case.state is State.CHECKING

    said = table.hear("confirm")

    assert table.case.known.weight_kg == 82
    assert said[-1].item == "special"


def test_a_changed_weight_replaces_the_old_one(table):
    """The last confirmed weight serves."""
    table.tell("weight", kilograms=82.0)
    table.tell("weight", kilograms=92.0)
    assert "ninety-two kilograms" in table.hear("dose", drug="ketamine")[0].text


@pytest.mark.parametrize(
    ("meaning", "values", "why"),
    [
        ("weight", {"kilograms": 12.0}, "a weight from thirty to two hundred kilograms"),
        ("weight", {"kilograms": 225.0}, "a weight from thirty to two hundred kilograms"),
        ("weight_pounds", {"pounds": 45.0}, "a weight from thirty to two hundred kilograms"),
        ("height", {"centimetres": 101.0}, "a height from one hundred and thirty"),
        ("age", {"years": 7.0}, "an age from eighteen to one hundred and ten years"),
    ],
)
def test_outside_the_adult_range_it_says_why(table, meaning, values, why):
    """A child is refused before anything is read back."""
    said = table.hear(meaning, **values)

    assert tags(said)[-1] == "out-of-range"
    assert "read-back" not in tags(said)
    assert why in said[-1].text
    assert table.case.state is State.OPENED


def test_a_number_that_an_item_cannot_have_is_refused(table):
    """Twelve kilograms as an answer, and a tube at a hundred centimetres."""
    table.hear("start")
    table.answer_until("weight")
    assert "I only know doses" in table.hear("number", number=12.0)[0].text
    assert table.case.state is State.ASKING
    table.hear("go_now")
    table.hear("attempt_start")
    table.hear("tube_in")
    table.answer_until("tube-depth")

    said = table.hear("number", number=101.0)

    assert "only be sixteen to thirty centimetres" in said[0].text
    assert tags(said) == ["out-of-range", "ask"]


def test_a_teen_that_could_be_a_ten_is_asked_for_in_digits(table):
    """A hundred and fifteen or fifty: the digits settle it, and are read back all the same."""
    said = table.hear("weight", "the weight is one hundred and fifteen kilos", kilograms=115.0)
    assert tags(said) == ["digits"]
    assert table.case.known.weight_kg is None

    read_back = table.hear("number", "one one five", number=115.0)

    assert "one one five, kilograms" in read_back[0].text
    table.hear("confirm")
    assert table.case.known.weight_kg == 115


def test_words_do_not_do_for_digits(table):
    """While digits are asked for, the same words again are asked again."""
    table.hear("weight", "the weight is one hundred and fifteen kilos", kilograms=115.0)

    said = table.hear("number", "one hundred and fifteen", number=115.0)

    assert tags(said) == ["digits"]
    assert not table.hear("confirm")[:-1]
    assert table.case.known.weight_kg is None


def test_a_doubtful_ten_is_asked_for_in_digits_by_its_item(table):
    """ "Seventy", not surely heard, is not even read back."""
    table.hear("start")
    table.answer_until("weight")
    doubtful = Reading("seventy kilos", "number", {"number": 70.0}, 0.5, Verdict.ASK)

    said = table.run(table.caller.unsure(doubtful))

    assert tags(said) == ["digits"]
    assert table.case.state is State.ASKING
    table.hear("number", "seven zero kilos", number=70.0)
    table.hear("confirm")
    assert table.case.known.weight_kg == 70


def test_a_doubtful_fact_is_read_back(table):
    """What was probably a sex or a weight counts only after a sure yes."""
    doubtful = Reading("the patient is a man", "male", {}, 0.5, Verdict.ASK)

    said = table.run(table.caller.unsure(doubtful))

    assert tags(said) == ["read-back"]
    assert table.case.known.sex is None


def test_an_allergy_is_told_once_and_named_with_the_dose(table):
    """The patient allergic to opioids: fentanyl's dose says so first, ketamine's does not."""
    table.tell("weight", kilograms=82.0)
    table.tell("allergy", allergen="opioids")
    table.tell("allergy", allergen="opioids")
    assert table.case.known.allergies == ["opioids"]

    said = table.hear("dose", drug="fentanyl")

    assert said[0].text.startswith("This patient is allergic to opioids. Fentanyl before")
    assert "allergic" not in table.hear("dose", drug="ketamine")[0].text


def test_every_drug_is_an_allergen_by_each_of_its_names(opened, site):
    """Heard, read back, on record and told with that drug's dose, without being listed."""
    for drug in site.formulary.drugs:
        for name in drug.names():
            case = opened("begin", f"the patient is allergic to {name}", "yes correct")
            (told,) = case.case.known.allergies
            assert told == drug.id
            assert told in {one.id for one in site.formulary.allergies_told_with(drug)}, name


def test_an_allergy_to_a_drug_is_read_back_by_its_own_name(opened):
    """Not by that of its class, which is named where it bars another drug of it."""
    case = opened("begin", "the weight is seventy kilos", "yes correct")
    asked = case.hears("she's allergic to succinylcholine")
    assert "an allergy to succinylcholine" in asked[0].text
    case.hears("yes correct")

    case.hears("what is the dose of rocuronium")
    told = case.hears("yes correct")[0].text
    assert told.startswith("This patient is allergic to succinylcholine, of the muscle relaxants.")


def test_an_allergy_to_a_drug_that_is_not_here_goes_on_record(opened):
    """It bars nothing, and it is handed over."""
    case = opened("begin", "the weight is seventy kilos", "yes correct")
    assert "an allergy to thiopental" in case.hears("she's allergic to thiopental")[0].text
    case.hears("yes correct")

    assert case.case.known.allergies == ["thiopental"]
    assert "allergic" not in case.hears("what is the dose of propofol")[0].text
    assert any("Allergic to thiopental." in line.text for line in case.hears("give the handover"))


def test_two_allergies_are_one_sentence_before_a_dose(opened):
    """The dose comes the sooner; a class stands last, and beside its drug."""
    case = opened("begin", "the weight is seventy kilos", "yes correct")
    for allergen in ("ketamine", "fentanyl", "latex"):
        case.hears(f"allergic to {allergen}")
        case.hears("yes correct")
    told = case.hears("what is the dose of ketamine")[0].text
    assert told.startswith("This patient is allergic to ketamine, latex. Ketamine")
    told = case.hears("what is the dose of hydromorphone")[0].text
    assert told.startswith("This patient is allergic to latex, fentanyl, of the opioids. Hydrom")


@pytest.mark.parametrize("given_first", [True, False])
def test_a_drug_that_is_in_against_an_allergy_gets_a_word(opened, given_first):
    """Whichever was told first; of another drug nothing is said."""
    allergy = ("allergic to rocuronium", "yes correct")
    said = ("rocuronium in", *allergy) if given_first else (*allergy, "rocuronium in")
    case = opened("begin", "the weight is seventy kilos", "yes correct", "ketamine in", *said[:-1])
    told = [line.text for line in case.hears(said[-1])]
    warned = "Rocuronium is in, and this patient is allergic to rocuronium."
    assert warned in told
    assert not any("Ketamine" in text for text in told)


def test_a_drug_of_the_class_that_is_in_is_named_with_the_class(opened):
    """An allergy to fentanyl, and hydromorphone went in."""
    case = opened("begin", "allergic to fentanyl", "yes correct")
    told = [line.text for line in case.hears("hydromorphone in")]
    named = "allergic to fentanyl, of the opioids."
    assert f"Hydromorphone is in, and this patient is {named}" in told


def test_an_allergy_to_one_drug_is_named_with_its_dose_and_with_no_other(opened):
    """Etomidate was told: its dose says so first, ketamine's does not; to the handover as well."""
    case = opened("begin", "the weight is eighty kilos", "yes correct")
    case.hears("she's allergic to etomidate")
    case.hears("yes correct")

    assert case.hears("what is the dose of etomidate")[0].text.startswith(
        "This patient is allergic to etomidate."
    )
    assert "allergic" not in case.hears("what is the dose of ketamine")[0].text
    assert any("Allergic to etomidate." in line.text for line in case.hears("give the handover"))


def test_after_a_restart_no_dose_before_the_weight_is_confirmed_again(table):
    """The weight from before is read back; until the yes there is no dose for it."""
    table.tell("weight", kilograms=82.0)
    said = table.run(table.caller.restarted(rebooted=False))
    assert said[-1].tag == "read-back"
    assert "eight two, kilograms" in said[-1].text

    asked = table.hear("dose", drug="ketamine")

    assert "dose" not in tags(asked)
    assert asked[-1].tag == "read-back"
    table.hear("confirm")
    assert "eighty-two kilograms" in table.hear("dose", drug="ketamine")[0].text


def test_after_a_restart_a_refused_weight_is_gone(table):
    """A no to the old weight leaves none, and its item is open again."""
    table.tell("weight", kilograms=82.0)
    table.run(table.caller.restarted(rebooted=True))

    table.hear("decline")

    assert table.case.known.weight_kg is None
    assert table.case.known.items["weight"].standing is Standing.OPEN
    assert tags(table.hear("dose", drug="ketamine")) == ["no-weight"]


def test_a_new_case_knows_nobody(table, site):
    """Nothing of the patient is carried into the next case."""
    table.tell("weight", kilograms=82.0)
    table.tell("female")
    known = Case(site.brief).known
    assert (known.weight_kg, known.sex, known.height_cm, known.age_years) == (None,) * 4
    assert (known.low_pressure, known.allergies, known.excluded) == (None, [], [])


def test_a_case_with_facts_is_rebuilt_from_its_rows(table):
    """Facts, recipes and checks fold like everything else, at every row."""
    table.tell("weight", kilograms=82.0)
    table.tell("pressure_low")
    table.hear("weight", "the weight is one hundred and fifteen kilos", kilograms=115.0)
    table.hear("mix", drug="epinephrine")
    table.hear("confirm")
    table.hear("dose", drug="succinylcholine")
    table.hear("confirm")
    table.hear("dose", drug="rocuronium", weight_kg=60.0)
    table.run(table.caller.restarted(rebooted=False))

    live = Case(table.site.brief)
    for count, row in enumerate(table.rows, start=1):
        live.apply(row)
        rebuilt = Case.rebuilt(table.site.brief, table.rows[:count])
        assert (rebuilt.state, rebuilt.known) == (live.state, live.known)
    assert (live.state, live.known) == (table.case.state, table.case.known)


def test_a_weight_that_awaits_its_yes_survives_a_dose_question(table):
    """Told at any time, it is read back again once the question about another weight is over."""
    table.tell("weight", kilograms=60.0)
    table.hear("weight", kilograms=82.0)
    table.hear("dose", drug="rocuronium", weight_kg=70.0)

    said = table.hear("confirm")

    assert tags(said) == ["dose", "read-back"]
    assert "eight two" in said[-1].text
    table.hear("confirm")
    assert table.case.known.weight_kg == 82


def test_an_answer_that_awaits_its_yes_survives_what_comes_between(table):
    """The weight as the item's own answer: after a dose for another weight, and after a hold."""
    table.hear("start")
    table.answer_until("weight")
    table.hear("number", number=82.0)
    table.hear("dose", drug="rocuronium", weight_kg=70.0)
    assert tags(table.hear("decline")) == ["dose-dropped", "read-back"]
    table.hear("hold")

    assert "eight two" in table.hear("resume")[-1].text
    table.hear("confirm")
    assert table.case.known.weight_kg == 82


def test_no_dose_for_the_old_weight_while_a_new_one_awaits_its_yes(table):
    """The new one is read back first; so it is while none is known yet."""
    table.tell("weight", kilograms=60.0)
    table.hear("weight", kilograms=82.0)

    said = table.hear("dose", drug="ketamine")

    assert tags(said) == ["weight-again", "read-back"]
    table.hear("confirm")
    assert "eighty-two" in table.hear("dose", drug="ketamine")[-1].text


def test_a_second_fact_does_not_drop_the_first(table):
    """Both are read back, the later one first; one told anew takes its own place."""
    table.hear("weight", kilograms=82.0)
    table.hear("height", centimetres=181.0)
    table.hear("weight", kilograms=84.0)

    assert "one eight one" in table.hear("confirm")[-1].text
    table.hear("confirm")
    assert (table.case.known.weight_kg, table.case.known.height_cm) == (84, 181)
    assert table.case.state is State.OPENED
