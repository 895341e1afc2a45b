"""The patient's course, on cases that were worked out by hand."""

from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.debrief.course import watched
from assistant.debrief.findings import Measures
from assistant.debrief.measures import measure
from assistant.debrief.regained import ALREADY, Response
from assistant.debrief.spans import joined, less
from assistant.debrief.timeline import Saturation, read_timeline

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


def measured(case) -> Measures:
    return measure(read_timeline(case.folder))


@pytest.fixture
def two_attempts(new_case: Callable):
    """Drugs at 10 s, an attempt from 50 s that fails at 110 s, one from 170 s, a tube at 200 s."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(10.0, "we gave the drugs", "drugs_in")
    case.hear(50.0, "attempt begins", "attempt_start")
    case.call(100.0, "fell", 93, 93)
    case.hear(110.0, "the attempt failed", "attempt_failed")
    case.hear(115.0, "begin the pacing", "pace")
    case.hear(140.0, "stop the pacing", "pace_stop")
    case.hear(170.0, "attempt begins", "attempt_start")
    case.hear(200.0, "the tube went through", "tube_in")
    return case


def test_from_drugs_to_tube_and_what_of_it_nobody_was_told_to_bag(two_attempts) -> None:
    """190 s in all; bagged from 110 to 170 s, with the tick or without: 100 and 30 s are left."""
    found = measured(two_attempts)
    assert (found.drugs_to_tube_at_s, found.no_breath_s) == ((10.0, 200.0), 130.0)
    assert found.longest_no_breath_s == 100.0


def test_pacing_before_the_first_attempt_is_bagging_too(new_case: Callable) -> None:
    """Paced from 20 to 45 s of the 90 s from drugs to tube."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(10.0, "we gave the drugs", "drugs_in")
    case.hear(20.0, "begin the pacing", "pace")
    case.hear(45.0, "stop the pacing", "pace_stop")
    case.hear(60.0, "attempt begins", "attempt_start")
    case.hear(100.0, "the tube went through", "tube_in")
    assert (measured(case).drugs_to_tube_at_s, measured(case).no_breath_s) == ((10.0, 100.0), 65.0)


def test_nobody_knows_the_time_from_drugs_to_tube_across_a_restart(new_case: Callable) -> None:
    """The machine was off in between."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(10.0, "we gave the drugs", "drugs_in")
    case.hear(50.0, "attempt begins", "attempt_start")
    case.restart(60.0, rebooted=True)
    case.hear(70.0, "the tube went through", "tube_in")
    found = measured(case)
    assert (found.drugs_to_tube_at_s, found.no_breath_s) == (None, None)


def test_a_call_is_answered_by_the_first_words_that_get_oxygen_in(two_attempts) -> None:
    """Called at 100 s, and at 110 s the attempt was given up."""
    assert measured(two_attempts).responses == (Response(100.0, 110.0, "the attempt was given up"),)
    assert measured(two_attempts).responses[0].took_s == 10.0


def test_a_call_that_nothing_was_done_about_has_no_response(new_case: Callable) -> None:
    """A second call comes before anything is said; a call for a lost signal asks for nothing."""
    case = new_case()
    case.call(10.0, "fell", 93, 93)
    case.call(20.0, "signal-lost", None, None)
    case.call(30.0, "fell", 90, 90)
    assert measured(case).responses == (Response(10.0, None, None), Response(30.0, None, None))


def test_a_call_while_the_team_bags_is_answered_already(new_case: Callable) -> None:
    """The pacing ran from 20 s before the call at 30 s, and the bag stays on after a failed
    attempt; at 80 s nobody bags, and at 95 s the tube is in."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(10.0, "we gave the drugs", "drugs_in")
    case.hear(20.0, "begin the pacing", "pace")
    case.call(30.0, "fell", 93, 93)
    case.hear(35.0, "attempt begins", "attempt_start")
    case.hear(50.0, "the attempt failed", "attempt_failed")
    case.call(60.0, "fell", 88, 88)
    case.hear(70.0, "attempt begins", "attempt_start")
    case.call(80.0, "fell", 83, 83)
    case.hear(95.0, "the tube went through", "tube_in")
    assert measured(case).responses == (
        Response(30.0, 30.0, ALREADY),
        Response(60.0, 60.0, ALREADY),
        Response(80.0, 95.0, "the tube was in"),
    )


def test_a_call_is_answered_by_asking_what_to_do(new_case: Callable) -> None:
    """ "It's getting worse" 4 s after it, which is told to bag with oxygen."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(5.0, "the tube went through", "tube_in")
    case.call(30.0, "fell", 90, 90)
    case.hear(34.0, "it's getting worse", "worse")
    assert [one.took_s for one in measured(case).responses] == [4.0]


def test_a_call_is_answered_by_a_saturation_that_comes_back(new_case: Callable) -> None:
    """94 at 40 s is one sample; from 60 s on it stays above 93, which is called."""
    case = new_case()
    (case.folder / "site" / "oximeter.yaml").write_bytes((SITE / "oximeter.yaml").read_bytes())
    case.call(30.0, "fell", 93, 93)
    for at_s, spo2 in ((30.0, 93), (40.0, 94), (45.0, 92), (60.0, 95), (70.0, 96), (80.0, 97)):
        case.saturation(at_s, spo2)
    assert measured(case).responses == (Response(30.0, 60.0, "the saturation came back"),)


def test_a_second_call_does_not_leave_the_first_without_its_answer(new_case: Callable) -> None:
    """Two calls, and the tube is in 30 s after the first and 10 s after the second."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(5.0, "attempt begins", "attempt_start")
    case.call(10.0, "fell", 93, 93)
    case.call(30.0, "fell", 88, 88)
    case.hear(40.0, "the tube went through", "tube_in")
    assert [one.took_s for one in measured(case).responses] == [30.0, 10.0]


def test_the_brief_lasts_from_its_first_item_to_its_end(whole_case) -> None:
    """The oxygen comes up at 1 s, and at 36 s all is asked; after the tube it is 110 to 112 s."""
    found = measured(whole_case)
    assert (found.brief_at_s, found.after_tube_at_s) == ((1.0, 36.0), (110.0, 112.0))


def test_what_another_phase_ends_is_not_the_brief(new_case: Callable) -> None:
    """A tube at 5 s breaks off the brief, and what is asked after the tube ends at 9 s: that one
    lasted 4 s, and the brief before the attempt was never finished."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(5.0, "the tube went through", "tube_in")
    case.hear(9.0, "confirmed", "confirm")
    assert (measured(case).brief_at_s, measured(case).after_tube_at_s) == (None, (5.0, 9.0))


def test_after_a_second_tube_it_is_asked_anew(new_case: Callable) -> None:
    """The first asking, from 5 s, was broken off at 7 s; the second lasts from 20 to 24 s."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(5.0, "the tube went through", "tube_in")
    case.hear(7.0, "the tube came out", "tube_out")
    case.hear(20.0, "the tube went through", "tube_in")
    case.hear(24.0, "confirmed", "confirm")
    assert measured(case).after_tube_at_s == (20.0, 24.0)


def test_time_at_the_threshold_or_below() -> None:
    """93 % is low where 93 is called: 10-20 s and 20-22 s; a loss at 22 s ends it. Then a sample
    that none follows counts for 15 s, and nobody knows what came after."""
    samples = [
        *(Saturation(0.0, 96), Saturation(10.0, 93), Saturation(20.0, 91)),
        *(Saturation(40.0, 93), Saturation(60.0, 94)),
    ]
    found = watched(samples, [22.0], 93, until_s=100.0)
    # Seen: 0-22, 40-55, 60-75.
    assert (found.seen_s, found.low_s) == (22.0 + 15.0 + 15.0, 12.0 + 15.0)
    assert found.spans == ((10.0, 22.0), (40.0, 55.0))


def test_spans_taken_out_of_spans() -> None:
    """One taken out of the middle leaves two; one that covers it leaves none."""
    assert less([(0.0, 10.0)], [(2.0, 4.0), (3.0, 5.0)]) == [(0.0, 2.0), (5.0, 10.0)]
    assert less([(1.0, 2.0)], [(0.0, 3.0)]) == []
    assert joined([(0.0, 1.0), (1.0, 2.0), (3.0, 4.0)]) == [(0.0, 2.0), (3.0, 4.0)]
