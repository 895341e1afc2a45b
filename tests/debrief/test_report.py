"""The report: JSON for programs, a table for people, and its exit codes."""

import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.commands import debrief
from assistant.commands.main import main
from assistant.debrief.measures import measure
from assistant.debrief.report import CAUTION, write_report
from assistant.debrief.timeline import read_timeline
from assistant.debrief.times import clock, fine_clock, short_time


class Terminal(io.StringIO):
    """A terminal to write on."""

    def isatty(self) -> bool:
        return True


def written(folder: Path, out: io.StringIO) -> str:
    timeline = read_timeline(folder)
    write_report(timeline, measure(timeline), out)
    return out.getvalue()


def test_the_json_of_a_case(whole_case, capsys: pytest.CaptureFixture[str]) -> None:
    """Its keys are fixed, for programs that read it, and its numbers are those of the case."""
    assert main(["debrief", str(whole_case.folder), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert set(told) == {
        "case",
        "site",
        "started_wall",
        "wall_trusted",
        "clock",
        "entries",
        "key_moments",
        "measures",
        "figures",
        "addressees",
        "saturation",
        "samples",
        "ratings",
        "notes",
        "bad_lines",
    }
    assert (told["site"], told["clock"], told["bad_lines"]) == ("Small brief", "sound", 0)
    assert told["saturation"][-1] == {"at_s": 66.25, "spo2_percent": 91, "pulse_bpm": 90}
    assert told["measures"]["duration_s"] == 123.0
    for entry in told["entries"]:
        assert set(entry) == {
            "at_s",
            "wall",
            "wall_trusted",
            "who",
            "kind",
            "text",
            "meaning",
            "item",
            "confidence",
            "verdict",
            "why",
            "voice",
            "lasts_s",
            "values",
        }
        assert entry["who"] in ("assistant", "team", "watcher", "clock")
        assert entry["kind"] in ("said", "heard", "ignored", "event")


def test_a_pipe_gets_one_unwrapped_line_for_each_entry(whole_case) -> None:
    """No line is broken, coloured or cut, however long a sentence is."""
    text = written(whole_case.folder, io.StringIO())
    lines = text.splitlines()
    timeline = read_timeline(whole_case.folder)
    first = next(n for n, line in enumerate(lines) if line.startswith("time "))
    table = lines[first + 1 : first + 1 + len(timeline.entries)]
    assert lines[first + 1 + len(timeline.entries)] == ""
    for entry, line in zip(timeline.entries, table, strict=True):
        assert line.startswith(fine_clock(entry.at_s))
        if entry.kind in ("said", "event"):
            assert line.endswith(entry.text)
    assert "\x1b" not in text
    assert lines[-1] == CAUTION


def test_a_terminal_gets_a_table_that_holds_the_same(
    whole_case, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every word of every entry is there, folded to the width of the terminal."""
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("TERM", "dumb")
    text = written(whole_case.folder, Terminal())
    assert max(len(line) for line in text.splitlines()) <= 100
    for entry in read_timeline(whole_case.folder).entries:
        # A column is narrower than the longest drug name, which is then folded itself.
        assert all(word in text for word in entry.text.split() if len(word) < 15)


def test_what_was_ignored_is_not_put_into_anybodys_mouth(whole_case) -> None:
    """Of room talk only the nearest phrase is kept; the report does not call it said."""
    lines = written(whole_case.folder, io.StringIO()).splitlines()
    ignored = next(line for line in lines if "ignored" in line and line.startswith("0:05.0"))
    assert ignored.endswith('(not taken: room talk; nearest "confirmed")')


def test_square_brackets_are_words_and_not_markup(new_case: Callable) -> None:
    """A site's sentence with brackets is printed as it was said."""
    case = new_case()
    case.journal.append("assistant", "said", "Say [bold]now[/bold] [or never].")
    for out in (io.StringIO(), Terminal()):
        assert "[bold]now[/bold]" in written(case.folder, out)


def test_the_head_says_how_far_the_wall_clock_is_trusted(new_case: Callable) -> None:
    """A start by a clock that nothing vouches for is called not synchronised."""
    case = new_case()
    trusted = read_timeline(case.folder).meta.started_wall_trusted
    head = written(case.folder, io.StringIO()).split("\n\n")[0]
    assert ("not synchronised" in head) is not trusted
    assert "synchronised" in head


def test_the_saturation_stands_beside_what_happened(whole_case) -> None:
    """The last recorded one, while it is fresh; none when it is old."""
    lines = written(whole_case.folder, io.StringIO()).splitlines()
    failed = next(line for line in lines if line.endswith("the attempt failed"))
    tube = next(line for line in lines if line.endswith("the tube went through"))
    assert "91 %" in failed
    assert "%" not in tube


def test_a_saturation_that_was_lost_is_shown_no_longer(new_case: Callable) -> None:
    """Once the watcher has called a lost signal, the last figure is nobody's saturation."""
    case = new_case()
    case.saturation(1.0, 97)
    case.hear(2.0, "start the brief", "start")
    case.call(3.0, "signal-lost", None, None)
    case.hear(4.0, "confirmed", "confirm")
    lines = written(case.folder, io.StringIO()).splitlines()
    assert all("97 %" in line for line in lines if line.startswith("0:02.0"))
    assert not [line for line in lines if line.startswith(("0:03.0", "0:04.0")) and "%" in line]


def test_an_event_is_shown_by_its_name(whole_case) -> None:
    """What came of an item stands in the column that says what happened."""
    lines = written(whole_case.folder, io.StringIO()).splitlines()
    at_36 = [line.split()[2] for line in lines if line.startswith("0:36.0")]
    assert at_36 == ["heard", "answered", "phase", "said"]


def test_a_folder_without_a_case_ends_with_two(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2 and one sentence that names the folder; nothing on standard output."""
    for folder in (tmp_path, tmp_path / "nowhere"):
        assert main(["debrief", str(folder)]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert err.count("\n") == 1
        assert str(folder) in err


def test_a_case_is_found_by_its_name(
    whole_case, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In the user's own folder of cases the name is enough."""
    monkeypatch.setattr(debrief, "default_cases", lambda: whole_case.folder.parent)
    monkeypatch.chdir("/")
    assert main(["debrief", whole_case.folder.name]) == 0
    assert "Small brief" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("seconds", "fine", "coarse", "length"),
    [
        (0.0, "0:00.0", "0:00", "0.0 s"),
        (59.996, "1:00.0", "1:00", "1:00 min"),
        (395.87, "6:35.9", "6:36", "6:36 min"),
        (7296.93, "121:36.9", "121:37", "121:37 min"),
        (-1.5, "-0:01.5", "-0:02", "-1.5 s"),
    ],
)
def test_times_are_written_in_one_way(seconds: float, fine: str, coarse: str, length: str) -> None:
    """Rounded before it is split, so that no 60 stands where seconds are, and nowhere cut off."""
    assert (fine_clock(seconds), clock(seconds), short_time(seconds)) == (fine, coarse, length)
