"""The watcher's calls: whether anybody could hear them."""

from collections.abc import Callable

import pytest

from assistant.commands.main import main
from assistant.debrief.measures import measure
from assistant.debrief.timeline import read_timeline
from tests.debrief.conftest import BEGAN_S


def silent_call(case, at_s: float, spo2: int) -> None:
    """The watcher has no loudspeaker: its call has ended before it began."""
    case.watch(
        at_s,
        "said",
        f"Saturation {spo2}.",
        kind="fell",
        level_percent=spo2,
        spo2_percent=spo2,
        started_s=BEGAN_S + at_s,
        until_s=BEGAN_S + at_s - 0.02,
    )


def test_a_call_that_made_no_sound_is_not_told_as_called(
    new_case: Callable, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of three, one was said by the assistant in its place, one by nobody, and one was heard; what
    nobody could hear is no call that was left without a response."""
    case = new_case()
    silent_call(case, 10.0, 90)
    case.clock.move_to(BEGAN_S + 10.1)
    case.journal.append("assistant", "said", "Saturation 90.", meaning="call")
    silent_call(case, 20.0, 88)
    case.call(30.0, "fell", 85, 85)
    assert main(["debrief", str(case.folder), "--aloud"]) == 0
    told = [one for one in capsys.readouterr().out.splitlines() if "The watcher" in one]
    began, silent = "The watcher's call", "was not heard from its loudspeaker"
    nothing = "; nothing is on record after it by which oxygen got in again."
    assert told == [
        f'{began} "Saturation 90." 10 seconds into the case {silent}, but said by the assistant'
        + nothing,
        f'{began} "Saturation 88." 20 seconds into the case {silent}.',
        'The watcher called "Saturation 85." 30 seconds into the case' + nothing,
    ]
    assert main(["debrief", str(case.folder)]) == 0
    # In the list of all that was said, among what happened, and among the measures.
    table = capsys.readouterr().out
    assert table.count("not heard from its loudspeaker") == 6
    assert "0 of 2 calls answered" in table


def test_a_call_whose_loudspeaker_died_meanwhile_was_not_heard(new_case: Callable) -> None:
    """The watcher's own row says so; it had begun to speak."""
    case = new_case()
    case.call(10.0, "fell", 90, 90)
    case.watch(10.5, "event", "call not heard")
    case.call(20.0, "fell", 88, 88)
    calls = measure(read_timeline(case.folder)).calls
    assert [one.unheard for one in calls] == [True, False]
