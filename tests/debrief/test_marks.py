"""A facilitator's marks in every form of a debrief."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.commands.main import main
from assistant.debrief.drawing import draw
from assistant.debrief.lanes import NARROW, WIDE
from assistant.debrief.measures import measure
from assistant.debrief.timeline import read_timeline
from assistant.journal.facilitator import RECORD_NAME
from assistant.oximeter.record import WatcherRecord, row_now
from tests.debrief.conftest import BEGAN_S
from tests.debrief.test_page import OUTSIDE


@pytest.fixture
def marked(new_case: Callable) -> Path:
    """A case that was marked by keys and aloud."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    case.hear(2.0, "mark this moment", "mark")
    case.hear(4.0, "confirmed", "confirm")
    record = WatcherRecord(case.folder / RECORD_NAME)
    for at_s, kind, text in (
        (3.0, "call-out", ""),
        (5.0, "closed", ""),
        (6.0, "mark", "Ann saw it"),
    ):
        record.add(row_now(BEGAN_S + at_s, "sound", "event", text, {"kind": kind}))
    return case.folder


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["debrief", *words]) == 0
    return capsys.readouterr().out


def test_marks_stand_in_their_time(marked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In the table, in the values and in JSON, among all else."""
    table = told(capsys, str(marked))
    assert "Ann saw it" in table
    assert "call out 1, check back 0, closed 1" in table
    rows = list(csv.DictReader(io.StringIO(told(capsys, str(marked), "--csv"))))
    own = [(float(row["at_s"]), row["meaning"]) for row in rows if row["who"] == "facilitator"]
    assert own == [(2.0, "mark"), (3.0, "call-out"), (5.0, "closed"), (6.0, "mark")]
    entries = json.loads(told(capsys, str(marked), "--json"))["entries"]
    assert sum(one["who"] == "facilitator" for one in entries) == 4


def test_a_mark_is_no_answer(marked: Path) -> None:
    """Said while an item is asked, it is none that did not match, and the item is closed."""
    (first, *_) = measure(read_timeline(marked)).loops
    assert first.mismatched == ()
    assert first.outcome != "left open"


def test_the_page_has_them(marked: Path, tmp_path: Path, browser: Any) -> None:
    """A list and a lane of its own; nothing runs out of a telephone."""
    page = tmp_path / "page.html"
    assert main(["debrief", str(marked), "--html", str(page)]) == 0
    text = page.read_text("utf-8")
    assert "The facilitator&#39;s marks" in text or "The facilitator's marks" in text
    assert text.count("Ann saw it") == 2
    browser.get(page.as_uri())
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": 390, "height": 900, "deviceScaleFactor": 1, "mobile": False},
    )
    assert browser.execute_script(OUTSIDE) == []
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_a_lane_only_where_something_was_marked(marked: Path, whole_case: Any) -> None:
    """A drawing without marks is as it was."""
    for shape in (WIDE, NARROW):
        timeline = read_timeline(marked)
        assert ">Facilitator<" in draw(timeline, measure(timeline), shape).decode()
        timeline = read_timeline(whole_case.folder)
        assert ">Facilitator<" not in draw(timeline, measure(timeline), shape).decode()


def test_redacted_no_words_of_theirs_are_left(
    marked: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever types may name somebody whom no file of the site names."""
    text = told(capsys, str(marked), "--csv", "--redact")
    assert "Ann" not in text
    assert text.count("facilitator") == 4
