"""Loops between machine and team, on cases that were worked out by hand.

Every line of the assistant takes two seconds and every utterance one, so that the right values can
be counted: they stand beside the steps.
"""

from collections.abc import Callable

import pytest

from assistant.debrief.figures import Addressee, addressees, figures
from assistant.debrief.findings import Measures
from assistant.debrief.measures import measure
from assistant.debrief.timeline import read_timeline


def measured(case) -> Measures:
    return measure(read_timeline(case.folder))


def numbers(case) -> dict[str, float | None]:
    return {one.name: one.value for one in figures(measured(case))}


def test_an_answer_is_timed_from_the_end_of_the_question_and_not_from_what_came_before(
    new_case: Callable,
) -> None:
    """The weight is noted in 2 s before the next question takes 2 s: the answer 1 s after its end
    took 1 s, though 5 s have passed since the item came up."""
    case = new_case(line_s=2.0)
    case.hear(3.0, "start the brief", "start")  # 3-4; oxygen-on comes up at 4, is asked 4-6
    case.hear(7.5, "confirmed", "confirm")  # 7.5-8.5: taken at 8.5; the clock 8.5-10.5, mask -12.5
    case.hear(13.0, "confirmed", "confirm")  # taken at 14; weight asked 14-16
    case.hear(17.0, "eighty kilos", "number", number=80)  # read back 18-20
    case.hear(20.5, "yes", "confirm")  # taken at 21.5; noted 21.5-23.5, suction asked 23.5-25.5
    case.hear(26.5, "confirmed", "confirm")  # taken at 27.5
    found = {one.item: one for one in measured(case).loops}

    assert {item: (one.to_answer_s, one.to_settling_s) for item, one in found.items()} == {
        "oxygen-on": (1.5, 2.5),
        "mask": (0.5, 1.5),
        "weight": (1.0, 5.5),
        "suction": (1.0, 2.0),
    }
    assert (found["suction"].asked_at_s, found["suction"].question_ended_s) == (21.5, 25.5)
    assert all(one.at_first_asking for one in found.values())


def test_a_loop_is_closed_by_the_third_step_of_its_published_definition(
    new_case: Callable,
) -> None:
    """Call-out, check-back, and the sender's making sure of it: only then is it closed.

    "Communication in interdisciplinary teams: exploring closed-loop communication during in situ
    trauma team training", BMJ Open 2013;3:e003525, doi 10.1136/bmjopen-2013-003525: abstract read,
    the three steps from memory. Here the question is the call-out, the answer the check-back, and
    the read-back with its yes makes sure.
    """
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "confirmed", "confirm")
    case.hear(3.0, "confirmed", "confirm")  # the weight is called out
    after_each_step = [measured(case).loops[-1]]
    case.hear(5.0, "eighty kilos", "number", number=80)  # checked back, and read back
    after_each_step.append(measured(case).loops[-1])
    case.hear(7.0, "yes", "confirm")  # made sure of
    after_each_step.append(next(one for one in measured(case).loops if one.item == "weight"))
    assert [(one.outcome, one.reply_at_s, one.settled_at_s) for one in after_each_step] == [
        ("left open", None, None),
        ("left open", 5.0, None),
        ("closed", 5.0, 7.0),
    ]


def test_shares_of_loops_are_of_all_askings(new_case: Callable) -> None:
    """Five askings: two closed at once, one put off, one closed after a second asking; of the one
    that going now overtook no answer was owed."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "confirmed", "confirm")  # oxygen-on: closed at the first asking
    case.hear(3.0, "not yet", "decline")  # mask: put off
    case.hear(4.0, "eighty kilos", "number", number=80)
    case.hear(5.0, "yes", "confirm")  # weight: closed at the first asking
    case.ask_again(10.0)
    case.hear(12.0, "confirmed", "confirm")  # suction: closed, and asked twice
    case.hear(16.0, "go now", "go_now")  # mask, once more: overtaken
    found = numbers(case)

    assert found["loops_closed_percent"] == 75.0  # 3 of 4
    assert found["closed_at_first_asking_percent"] == 50.0  # 2 of 4
    assert (found["put_off"], found["put_off_never_resolved"]) == (1, 1)
    assert addressees(measured(case).loops) == (
        Addressee("Bag", 2, 1, 1, 1.0),  # waits of 1 and 1 s
        Addressee("Leader", 2, 2, 1, 4.0),  # of 1 and 7 s
    )


def test_what_is_put_off_to_the_end_is_never_resolved(whole_case) -> None:
    """The mask was "not yet" twice, and the record ends with it open."""
    found = numbers(whole_case)
    assert (found["put_off"], found["put_off_never_resolved"]) == (1, 1)


def test_a_refused_read_back_is_an_answer_that_did_not_match(whole_case) -> None:
    """Sixty kilograms were read back and refused; nothing else in that case was amiss."""
    amiss = {one.item: one.mismatched for one in measured(whole_case).loops if one.mismatched}
    assert amiss == {"weight": ("sixty kilograms",)}
    assert numbers(whole_case)["answers_amiss"] == 1


def test_an_answer_to_another_question_does_not_match(new_case: Callable) -> None:
    """A number while a mask is asked after settles nothing and is counted; the loop stays open
    until it is answered."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "eighty", "number", number=80)
    case.hear(3.0, "confirmed", "confirm")
    first = measured(case).loops[0]
    assert (first.item, first.mismatched, first.outcome) == ("oxygen-on", ("eighty",), "closed")
    assert not first.at_first_asking


def test_a_dose_asked_for_meanwhile_costs_nothing(new_case: Callable) -> None:
    """The question comes again after the dose, and its time runs from there; said again because
    nobody answered, it is a repetition."""
    case = new_case(line_s=2.0)
    case.hear(3.0, "start the brief", "start")  # asked 4-6
    case.hear(7.0, "rocuronium for eighty", "dose", drug="rocuronium", weight_kg=80)
    case.hear(10.5, "yes", "confirm")  # the dose 11.5-13.5, the question 13.5-15.5
    case.hear(16.5, "confirmed", "confirm")
    first = measured(case).loops[0]
    assert (first.item, first.times_asked, first.to_answer_s) == ("oxygen-on", 1, 1.0)
    assert first.at_first_asking
    case.ask_again(30.0)
    case.hear(34.0, "confirmed", "confirm")
    assert not measured(case).loops[1].at_first_asking


def test_a_pressure_told_meanwhile_is_no_wrong_answer(new_case: Callable) -> None:
    """It is read back and taken, and the question that stood comes again."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(3.0, "the pressure is low", "pressure_low")
    case.hear(5.0, "yes", "confirm")
    case.hear(7.0, "confirmed", "confirm")
    first = measured(case).loops[0]
    assert (first.mismatched, first.at_first_asking) == ((), True)


def test_what_a_turn_overtakes_is_not_counted(new_case: Callable) -> None:
    """A question stood when the attempt began: what overtook it is named, and no answer is owed."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(3.0, "attempt begins", "attempt_start")
    (only,) = measured(case).loops
    assert (only.outcome, only.overtaken_by, only.counts) == ("overtaken", "an attempt", False)
    assert numbers(case)["loops_closed_percent"] is None


def test_a_question_that_a_call_cut_into_was_not_said(new_case: Callable) -> None:
    """The watcher speaks at 5-7 s into a question of 4-6 s; time runs from its second saying."""
    case = new_case(line_s=2.0)
    case.hear(3.0, "start the brief", "start")
    case.call(5.0, "fell", 92, 92)
    case.ask_again(8.0)  # 8-10
    case.hear(10.5, "confirmed", "confirm")
    first = measured(case).loops[0]
    assert (first.times_asked, first.question_ended_s, first.to_answer_s) == (1, 10.0, 0.5)


def test_no_wait_is_known_across_a_restart_of_the_machine(new_case: Callable) -> None:
    """Asked before it and answered after: only the question that was asked anew counts."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.restart(500.0, rebooted=True)
    case.hear(503.0, "confirmed", "confirm")
    first = measured(case).loops[0]
    assert (first.outcome, first.to_answer_s) == ("closed", 3.0)


def test_going_back_marks_the_loop_that_was_closed(new_case: Callable) -> None:
    """It was closed, and somebody took it back."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "confirmed", "confirm")
    case.hear(3.0, "go back", "back")
    assert [(one.item, one.outcome, one.taken_back) for one in measured(case).loops] == [
        ("oxygen-on", "closed", True),
        ("mask", "overtaken", False),
        ("oxygen-on", "left open", False),
    ]


def test_talk_during_a_call_and_room_talk_are_counted_and_timed(new_case: Callable) -> None:
    """Room talk of 1 s at 5 s, with a call of 2 s from 5.5 s; room talk of 1 s at 20 s without."""
    case = new_case(line_s=2.0)
    case.ignore(5.0, "confirmed")
    case.call(5.5, "fell", 92, 92)
    case.ignore(20.0, "confirmed")
    said = measured(case).utterances
    assert (said.ignored, said.room_talk_s, said.during_calls) == (2, 2.0, 1)


def test_every_measure_says_what_it_means_and_where_it_comes_from(whole_case) -> None:
    """Each has its definition, its rows and its source; measures of loops name a published one."""
    found = figures(measured(whole_case))
    assert len({one.name for one in found}) == len(found) == 18
    for one in found:
        told = one.definition
        assert all((told.title, told.means, told.rows, told.source)), one.name
    loops = next(one for one in found if one.name == "loops_closed_percent")
    assert "BMJ Open 2013;3:e003525" in loops.definition.source


@pytest.mark.parametrize("name", ["loops_closed_percent", "median_to_answer_s", "brief_s"])
def test_an_empty_case_has_no_figures_made_up(name: str, new_case: Callable) -> None:
    """No share of nothing, no median of nothing."""
    assert numbers(new_case())[name] is None
