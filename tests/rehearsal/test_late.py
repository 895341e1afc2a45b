"""A slow team, a weight put right, a watcher lost, a tube in the gullet: from sound to sound."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.rehearsal.conftest import REHEARSALS

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def late(begin: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The rehearsal, played once."""
    cases: Path = tmp_path_factory.mktemp("late") / "cases"
    running = begin(cases, str(REHEARSALS / "late.yaml"))
    yield running.finished()
    running.kill()


def test_it_ends_as_written(late: Any) -> None:
    """What each says when the caller waits, corrects or loses something leads where it should."""
    assert (late.code, late.complaints) == (0, ""), late.printed


def test_the_dose_goes_by_the_weight_that_was_put_right(late: Any) -> None:
    """Seventy counted, and ninety after it: 1.2 mg/kg is 108 mg (US prescribing information)."""
    events = [one for one in late.debrief["entries"] if one["kind"] == "event"]
    weights = [
        one["values"]["value"]
        for one in events
        if one["values"].get("item") == "weight" and one["meaning"] == "answered"
    ]
    weights += [one["values"]["value"] for one in events if one["meaning"] == "fact-taken"]
    (told,) = [one for one in events if one["meaning"] == "dose-told"]

    assert weights == [70, 90]
    assert (float(told["values"]["dose"]), told["values"]["weight_kg"]) == (108.0, 90)


def test_without_a_watcher_no_saturation_is_told(late: Any) -> None:
    """It is said once that nobody watches, and what was seen before is not passed off as now."""
    lines = [one["text"] for one in late.entries("assistant", "said")]
    lost = lines.index("Nobody is watching the saturation.")

    assert lines.count("Nobody is watching the saturation.") == 1
    assert "I have no saturation. Look at the monitor." in lines[lost:]
    assert not [text for text in lines[lost:] if text.startswith("Saturation ")]


def test_a_tube_in_the_gullet_comes_out_and_the_next_attempt_begins_at_once(late: Any) -> None:
    """Its attempt counts as failed, and what was asked after it is asked of the second tube."""
    course = ("attempt-started", "tube-in", "tube-out")
    happened = [one["meaning"] for one in late.entries("assistant", "event")]
    asked = [one["item"] for one in late.entries("assistant", "said") if one["meaning"] == "ask"]

    assert [one for one in happened if one in course] == [*course, *course[:2]]
    assert asked.count("sustained-carbon-dioxide") == 2
    (told,) = [one for one in late.entries("assistant", "said") if one["meaning"] == "handover"]
    assert "on attempt two" in told["text"]
