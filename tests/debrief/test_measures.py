"""The measures of a case whose every time is written down in the fixture `whole_case`."""

from collections.abc import Callable

from assistant.debrief.attempts import AttemptRun
from assistant.debrief.findings import ClockRun, ThresholdCall
from assistant.debrief.lanes import NARROW, Lane, key_of, labels, lanes_of
from assistant.debrief.measures import measure
from assistant.debrief.open_items import NotComeTo
from assistant.debrief.placing import Restart
from assistant.debrief.timeline import Saturation, read_timeline


def test_the_case_lasted_until_it_was_ended_aloud(whole_case) -> None:
    """The watcher's goodbye seven seconds later does not lengthen it."""
    measures = measure(read_timeline(whole_case.folder))
    assert (measures.duration_s, measures.ended) == (123.0, True)


def test_a_case_that_nobody_ended_lasted_until_its_last_row(new_case: Callable) -> None:
    """Killed in the middle: what is known is that it lasted so long."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.saturation(9.0, 97)
    case.watch(9.5, "event", "oximeter port failed", fault="gone")
    measures = measure(read_timeline(case.folder))
    assert (measures.duration_s, measures.ended) == (9.5, False)


def test_items_are_counted_by_what_became_of_them(whole_case) -> None:
    """The mask was "not yet" twice and is left open; all else was answered."""
    items = measure(read_timeline(whole_case.folder)).items
    assert items.asked == ("oxygen-on", "mask", "weight", "suction", "tube-fixed")
    assert items.answered == ("oxygen-on", "weight", "suction", "tube-fixed")
    assert items.deferred == ("mask",)
    assert items.outstanding == ("mask",)


def test_items_left_open_in_a_hurry_are_told_once(new_case: Callable) -> None:
    """The one that was asked is left open, and the others were never come to."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "go now", "go_now")
    items = measure(read_timeline(case.folder)).items
    assert items.asked == ("oxygen-on",)
    assert items.outstanding == ("oxygen-on",)
    assert items.not_come_to == (NotComeTo("before the attempt", ("mask", "weight", "suction")),)
    assert items.answered == ()


def test_an_answer_that_is_taken_back_does_not_count(new_case: Callable) -> None:
    """Going back opens the item again."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "confirmed", "confirm")
    case.hear(3.0, "go back", "back")
    items = measure(read_timeline(case.folder)).items
    assert items.answered == ()
    assert items.outstanding == ("oxygen-on", "mask")


def test_utterances_are_counted_by_what_was_made_of_them(whole_case) -> None:
    """One was room talk, one was doubted; the watcher's calls are nobody's utterances."""
    said = measure(read_timeline(whole_case.folder)).utterances
    assert (said.heard, said.ignored, said.doubted) == (20, 1, 1)


def test_first_hearings_are_those_with_nothing_ignored_doubted_or_refused(whole_case) -> None:
    """Of seven, the mask's first "not yet" and the weight, refused once, were not."""
    answers = measure(read_timeline(whole_case.folder)).answers
    assert (answers.settled, answers.at_first_hearing) == (7, 5)


def test_an_answer_after_something_ignored_was_not_the_first_hearing(
    new_case: Callable,
) -> None:
    """What was ignored may have been the answer: it is not counted as understood at once."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.ignore(2.0, "confirmed")
    case.hear(3.0, "confirmed", "confirm")
    case.hear(4.0, "confirmed", "confirm")
    answers = measure(read_timeline(case.folder)).answers
    assert (answers.settled, answers.at_first_hearing) == (2, 1)


def test_the_longest_wait_is_from_the_question_to_its_answer(whole_case) -> None:
    """The weight, asked at 8 s and confirmed at 24.5 s."""
    answers = measure(read_timeline(whole_case.folder)).answers
    assert (answers.longest_wait_s, answers.longest_wait_item) == (16.5, "weight")


def test_calls_and_the_lowest_saturation(whole_case) -> None:
    """A call for a lost signal is not a saturation call, and the lowest came after the call."""
    measures = measure(read_timeline(whole_case.folder))
    assert measures.calls == (ThresholdCall(65.25, "fell", "Saturation 92.", 92, 92),)
    assert [(call.at_s, call.kind) for call in measures.losses] == [(80.0, "signal-lost")]
    assert measures.lowest_saturation == Saturation(66.25, 91, 90)


def test_a_call_counts_for_the_lowest_saturation(new_case: Callable) -> None:
    """Samples are recorded once a second; the one that was called may lie between."""
    case = new_case()
    case.saturation(1.0, 94)
    case.call(1.4, "fell", 92, 91)
    case.saturation(2.0, 93)
    assert measure(read_timeline(case.folder)).lowest_saturation == Saturation(1.4, 91)


def test_clocks_by_name_beginning_and_length(whole_case) -> None:
    """The oxygen's thirty seconds, and each attempt's own run of the attempt clock."""
    assert measure(read_timeline(whole_case.folder)).clocks == (
        ClockRun("oxygen on", 4.0, 30.0, 30),
        ClockRun("attempt", 50.0, 20.0, None),
        ClockRun("attempt", 90.0, 20.0, None),
    )


def test_a_clock_that_still_ran_has_no_length(new_case: Callable) -> None:
    """What the record does not hold is not made up."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "confirmed", "confirm")
    assert measure(read_timeline(case.folder)).clocks == (ClockRun("oxygen on", 2.0, None, 30),)


def test_a_clock_that_is_started_once_more_is_two_runs(new_case: Callable) -> None:
    """Each with its own length."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(2.0, "begin the attempt", "attempt_start")
    case.hear(5.0, "the attempt failed", "attempt_failed")
    case.hear(7.0, "begin the attempt", "attempt_start")
    assert measure(read_timeline(case.folder)).clocks == (
        ClockRun("attempt", 2.0, 3.0, None),
        ClockRun("attempt", 7.0, None, None),
    )


def test_attempts_with_their_lengths_and_outcomes(whole_case) -> None:
    """As they were said aloud to begin and to end."""
    assert measure(read_timeline(whole_case.folder)).attempts == (
        AttemptRun(1, 50.0, 20.0, "failed", ended_at_s=70.0),
        AttemptRun(2, 90.0, 20.0, "tube in", ended_at_s=110.0),
    )


def test_an_attempt_that_nobody_ended_has_no_outcome(new_case: Callable) -> None:
    """Killed during the attempt: neither a failure nor a tube."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(2.0, "attempt begins", "attempt_start")
    assert measure(read_timeline(case.folder)).attempts == (AttemptRun(1, 2.0, None, None),)


def test_an_empty_case_measures_nothing(new_case: Callable) -> None:
    """No division, no made-up figure."""
    measures = measure(read_timeline(new_case().folder))
    assert measures.duration_s == 0.0
    assert measures.answers.longest_wait_s is None
    assert measures.lowest_saturation is None
    assert measures.calls == measures.clocks == measures.attempts == ()


def test_nothing_that_ran_across_a_reboot_has_a_length(new_case: Callable) -> None:
    """A clock, an attempt and the wait for an answer: begun before, and so unknown."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "confirmed", "confirm")
    case.hear(3.0, "go now", "go_now")
    case.hear(4.0, "attempt begins", "attempt_start")
    case.restart(20.0, rebooted=True)
    case.pass_time(200.0)
    case.hear(210.0, "the attempt failed", "attempt_failed")
    case.hear(220.0, "attempt begins", "attempt_start")
    case.hear(230.0, "the tube went through", "tube_in")

    timeline = read_timeline(case.folder)
    measures = measure(timeline)

    assert measures.clocks == (
        ClockRun("oxygen on", 2.0, None, 30, unknown=True),
        ClockRun("attempt", 4.0, None, None, unknown=True),
        ClockRun("attempt", 220.0, 10.0, None),
    )
    assert measures.attempts == (
        AttemptRun(1, 4.0, None, "failed", ended_at_s=210.0),
        AttemptRun(2, 220.0, 10.0, "tube in", ended_at_s=230.0),
    )
    assert "started anew at 0:20" in timeline.notes[0]


def test_a_program_that_was_restarted_leaves_every_length_known(new_case: Callable) -> None:
    """The machine's own clock went on meanwhile."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "confirmed", "confirm")
    case.restart(20.0, rebooted=False)
    case.pass_time(32.0)
    timeline = read_timeline(case.folder)
    assert measure(timeline).clocks == (ClockRun("oxygen on", 2.0, 30.0, 30),)
    assert not any("unknown" in one for one in timeline.notes)


def test_a_killed_program_is_told_and_drawn(new_case: Callable) -> None:
    """Heard last at 5 s, killed, and back at 65 s: nobody listened for up to a minute."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(5.0, "attempt begins", "attempt_start")
    case.restart(65.0, rebooted=False)
    case.hear(80.0, "the tube went through", "tube_in")
    timeline = read_timeline(case.folder)
    assert timeline.restarts == (Restart(65.0, 5.0, rebooted=False),)
    assert any("Not listening from 0:05 at the earliest to 1:05" in one for one in timeline.notes)
    lanes = {one.name: one.bars for one in lanes_of(timeline, measure(timeline))}
    assert lanes["Not listening"] == [(5.0, 60.0)]


def test_a_bar_without_room_for_its_word_has_a_letter_with_a_key() -> None:
    """In order of time, the same for the same word; a word is written whole or not at all."""
    bars = [(0.0, 500.0), (520.0, 10.0), (500.0, 20.0), (530.0, 20.0)]
    lane = Lane("Course", bars, {}, ["brief", "attempt 1", "between", "between"])
    assert labels(lane, NARROW, 1000.0) == ["brief", "b", "a", "a"]
    assert key_of([lane], NARROW, 1000.0) == "a = between, b = attempt 1"


def test_an_attempt_across_a_reboot_is_drawn_as_far_as_it_is_known(new_case: Callable) -> None:
    """Begun at 5 s and the machine off at 20 s; when it ended nobody knows."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(5.0, "attempt begins", "attempt_start")
    case.restart(20.0, rebooted=True)
    case.hear(30.0, "the tube went through", "tube_in")
    timeline = read_timeline(case.folder)
    course = next(one for one in lanes_of(timeline, measure(timeline)) if one.name == "Course")
    assert dict(zip(course.words, course.bars, strict=True))["attempt 1"] == (5.0, 15.0)
