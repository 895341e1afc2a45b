"""What a case came to, in order of time, with the words that led to it."""

from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.debrief.key_moments import KeyMoment, key_moments
from assistant.debrief.reading import read_measured
from tests.debrief.test_calls import silent_call


def told(case) -> list[KeyMoment]:
    return list(key_moments(*read_measured(case.folder)))


def test_attempts_calls_and_drugs_stand_in_one_list_with_their_words(new_case: Callable) -> None:
    """Each once, and in order of time."""
    case = new_case()
    case.hear(2.0, "go now", "go_now")
    case.hear(4.0, "we gave the drugs", "drugs_in")
    case.hear(10.0, "attempt begins", "attempt_start")
    case.call(20.0, "fell", 90, 90)
    case.hear(25.0, "the attempt failed", "attempt_failed")
    assert [(one.at_s, one.what, one.said) for one in told(case)] == [
        (2.0, "the patient could not wait", ("go now",)),
        (4.0, "the drugs were in", ("we gave the drugs",)),
        (10.0, "attempt 1 began", ("attempt begins",)),
        (20.0, "the watcher's call 1", ("Saturation 90.",)),
        (25.0, "attempt 1 failed, after 15.0 s", ("the attempt failed",)),
    ]


def test_a_restart_stands_among_them_and_no_response_is_timed_across_it(
    new_case: Callable, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody knows how long the machine was off: the attempt has an end, and no length."""
    case = new_case()
    case.hear(2.0, "go now", "go_now")
    case.hear(10.0, "attempt begins", "attempt_start")
    case.call(20.0, "fell", 90, 90)
    case.restart(30.0, rebooted=True)
    case.hear(35.0, "the attempt failed", "attempt_failed")
    assert [one.what for one in told(case)][-2:] == [
        "the machine was started anew",
        "attempt 1 failed",
    ]
    _, measures = read_measured(case.folder)
    assert [(one.how, one.took_s) for one in measures.responses] == [
        ("the attempt was given up", None)
    ]
    assert main(["debrief", str(case.folder)]) == 0
    assert "1 of 1 calls answered" in capsys.readouterr().out


def test_a_call_that_nobody_heard_is_named_so(new_case: Callable, tmp_path: Path) -> None:
    """It is on record that it was to be said, and that it was not heard; so it has no response, and
    the drawing's key tells of its mark."""
    case = new_case()
    silent_call(case, 20.0, 88)
    case.hear(25.0, "go now", "go_now")
    case.hear(26.0, "attempt begins", "attempt_start")
    case.hear(30.0, "the attempt failed", "attempt_failed")
    _, measures = read_measured(case.folder)
    assert measures.responses == ()
    assert main(["debrief", str(case.folder), "--html", str(tmp_path / "x.html")]) == 0
    assert "struck through: not heard" in (tmp_path / "x.html").read_text("utf-8")
    assert told(case)[0].what == "the watcher's call 1, not heard from its loudspeaker"
