"""What a page says of drugs: doses that were spoken, until when they held, and what went in."""

from collections.abc import Callable

from assistant.debrief.aloud import sentences
from assistant.debrief.drugs import drugs_of
from assistant.debrief.measures import measure
from assistant.debrief.page_view import doses, given
from assistant.debrief.timeline import read_timeline


def shown(case) -> tuple[list[str], list[str]]:
    """For whom each dose was, and what was told to be in."""
    timeline = read_timeline(case.folder)
    drugs = drugs_of(timeline, measure(timeline).taken_back)
    return [one["weight"] for one in doses(drugs)], [one["text"] for one in given(drugs)]


def weighed(case) -> None:
    """Seventy kilograms, confirmed at 13 s; rocuronium's dose is told for it at 16 s."""
    case.hear(1.0, "go now", "go_now")
    case.hear(10.0, "the weight is seventy kilos", "weight", kilograms=70)
    case.hear(13.0, "yes", "confirm")
    case.hear(15.0, "dose of rocuronium", "dose", drug="rocuronium")
    case.hear(16.0, "yes", "confirm")


def test_a_drug_that_went_in_is_listed_once(new_case: Callable) -> None:
    """Neither the line that says so, nor the clock that it starts, is one more drug."""
    case = new_case()
    weighed(case)
    case.hear(20.0, "rocuronium in", "drug_given", drug="rocuronium")
    assert shown(case) == (["70 kg"], ["rocuronium; 84 mg was told."])


def test_a_dose_that_was_outdated_before_the_drug_went_in(new_case: Callable) -> None:
    """Told for 70 kg, and 90 kg were confirmed before it: it was asked for, and held no more."""
    case = new_case()
    weighed(case)
    case.hear(30.0, "the weight is ninety kilos", "weight", kilograms=90)
    case.hear(33.0, "yes", "confirm")
    case.hear(40.0, "rocuronium in", "drug_given", drug="rocuronium")
    by = "weight: ninety kilograms"
    assert shown(case) == (
        [f"70 kg; outdated at 0:33 ({by})"],
        [f"rocuronium; 84 mg was told for 70 kg, and outdated at 0:33 by “{by}”."],
    )
    timeline = read_timeline(case.folder)
    aloud = list(sentences(timeline, measure(timeline)))
    assert "Rocuronium was told as given after its dose for 70 kg was outdated." in aloud


def test_a_dose_for_another_weight_is_no_dose_for_this_patient(new_case: Callable) -> None:
    """Asked as a what if, and the drug went in; of another nobody had asked."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(5.0, "rocuronium for eighty", "dose", drug="rocuronium", weight_kg=80)
    case.hear(6.0, "yes", "confirm")
    case.hear(10.0, "rocuronium in", "drug_given", drug="rocuronium")
    case.hear(12.0, "ketamine in", "drug_given", drug="ketamine")
    assert shown(case) == (
        ["80 kg, what if"],
        [
            "rocuronium; a dose was told for another weight only, 80 kg.",
            "ketamine; no dose was asked for.",
        ],
    )


def test_a_drug_that_was_taken_back_is_listed_as_that(new_case: Callable) -> None:
    """ "No wait" five seconds later; the same drug a minute on is no second one."""
    case = new_case()
    weighed(case)
    case.hear(20.0, "rocuronium in", "drug_given", drug="rocuronium")
    case.hear(25.0, "no wait", "back")
    case.hear(85.0, "rocuronium in", "drug_given", drug="rocuronium")
    timeline = read_timeline(case.folder)
    went_in = given(drugs_of(timeline, measure(timeline).taken_back))
    assert [(one["text"], one["taken_back"]) for one in went_in] == [
        ("rocuronium; 84 mg was told.", "0:25"),
        ("rocuronium; 84 mg was told.", ""),
    ]


def test_a_drug_given_again_without_a_new_dose_is_no_doubt_of_the_weight(
    new_case: Callable,
) -> None:
    """A minute later the same dose is not told anew; nobody had doubted the weight."""
    case = new_case()
    weighed(case)
    case.hear(20.0, "rocuronium in", "drug_given", drug="rocuronium")
    case.pass_time(85.0)
    case.hear(86.0, "rocuronium in", "drug_given", drug="rocuronium")
    assert shown(case)[1] == [
        "rocuronium; 84 mg was told.",
        "rocuronium, given again; no new dose was asked for.",
    ]


def test_a_weight_in_doubt_is_told_where_it_was(new_case: Callable) -> None:
    """After a restart the weight has to be confirmed, and it was not."""
    case = new_case()
    weighed(case)
    case.restart(18.0, rebooted=False)
    case.hear(30.0, "rocuronium in", "drug_given", drug="rocuronium")
    assert shown(case)[1] == [
        "rocuronium; 84 mg was told for 70 kg, but the weight was in doubt by then."
    ]


def test_a_weight_put_right_after_a_drug_was_in_is_marked_at_it(new_case: Callable) -> None:
    """84 mg for 70 kg went in, 90 kg were confirmed at 33 s; put back to 70 kg nothing is amiss."""
    case = new_case()
    weighed(case)
    case.hear(20.0, "rocuronium in", "drug_given", drug="rocuronium")
    case.hear(30.0, "the weight is ninety kilos", "weight", kilograms=90)
    case.hear(33.0, "yes", "confirm")
    after = "weight put right to 90 kg at 0:33, after it was in"
    assert shown(case)[1] == [f"rocuronium; 84 mg was told; {after}."]
    timeline = read_timeline(case.folder)
    aloud = list(sentences(timeline, measure(timeline)))
    assert "Rocuronium was in before the weight was put right to 90 kilograms." in aloud
    case.hear(40.0, "the weight is seventy kilos", "weight", kilograms=70)
    case.hear(43.0, "yes", "confirm")
    assert shown(case)[1] == ["rocuronium; 84 mg was told."]


def test_a_dose_for_a_low_pressure_says_so(new_case: Callable) -> None:
    """Half of the dose has its reason beside it."""
    case = new_case()
    weighed(case)
    case.hear(20.0, "the pressure is low", "pressure_low")
    case.hear(22.0, "yes", "confirm")
    case.hear(25.0, "how much ketamine", "dose", drug="ketamine")
    assert shown(case)[0][-1] == "70 kg, low pressure"


def test_drugs_that_nobody_named(new_case: Callable) -> None:
    """Only that they are in was told."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(9.0, "we gave the drugs", "drugs_in")
    assert shown(case) == ([], ["the drugs, without their names."])
