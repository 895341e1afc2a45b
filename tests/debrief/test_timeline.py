"""The two records of a case in one order; each is read without the other."""

import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.brief.case import Case
from assistant.clock import MonotonicClock, WallReading, boot_id
from assistant.debrief.timeline import NO_WATCHER, Timeline, read_timeline
from assistant.errors import BadInput
from assistant.journal import journal as journal_module
from assistant.journal.boots import boot_row
from assistant.journal.journal import FILE_NAME, Journal, read_case
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, WatcherRow

ROOT = Path(__file__).parents[2]
STARTED = "2026-03-01T10:00:00.000Z"


def at_wall(second: float) -> str:
    """A wall time so many seconds after `STARTED`."""
    return f"2026-03-01T10:{int(second) // 60:02d}:{second % 60:06.3f}Z"


@pytest.fixture
def wall(monkeypatch: pytest.MonkeyPatch) -> list[WallReading]:
    """The readings that the journal's wall clock will give; the last one from then on."""
    readings = [WallReading(STARTED, trusted=True)]

    def read() -> WallReading:
        return readings.pop(0) if len(readings) > 1 else readings[0]

    monkeypatch.setattr(journal_module, "read_wall", read)
    return readings


def watcher_row(at_s: float, **changed: object) -> WatcherRow:
    """A call, on this machine's monotonic clock unless told otherwise."""
    row = WatcherRow(at_s, STARTED, True, boot_id(), "monotonic", "said", "Saturation ninety.")
    return replace(row, **changed)


def times_of(timeline: Timeline, who: str) -> list[float | None]:
    return [entry.at_s for entry in timeline.entries if entry.who == who]


def test_both_records_are_merged_by_their_clock(whole_case) -> None:
    """Times count from the start and never go back, and the call stands in its place."""
    timeline = read_timeline(whole_case.folder)
    times = [entry.at_s for entry in timeline.entries]
    assert times == sorted(times)
    assert times[0] == 0.0
    assert times_of(timeline, "watcher") == [65.25, 80.0, 130.0]
    place = next(n for n, entry in enumerate(timeline.entries) if entry.at_s == 65.25)
    assert timeline.entries[place - 1].meaning == "attempt-started"
    assert timeline.entries[place + 1].text == "the attempt failed"
    assert (timeline.notes, timeline.bad_lines) == ((), 0)


def test_nothing_of_either_record_is_lost(whole_case) -> None:
    """Every row of the journal and of the watcher is an entry or a saturation."""
    timeline = read_timeline(whole_case.folder)
    rows = read_case(whole_case.folder)[1]
    watched = read_record(whole_case.folder / RECORD_NAME).rows
    assert len(timeline.entries) + len(timeline.saturation) == len(rows) + len(watched)


def test_samples_are_kept_apart(whole_case) -> None:
    """Plain saturations would drown what was said."""
    timeline = read_timeline(whole_case.folder)
    assert [(one.at_s, one.spo2_percent) for one in timeline.saturation] == [
        (0.5, 97),
        (55.0, 95),
        (65.0, 92),
        (66.25, 91),
    ]
    assert not [entry for entry in timeline.entries if entry.text == "saturation"]


def test_an_entry_says_who_what_and_how_sure(whole_case) -> None:
    """An utterance carries its meaning, item, values and verdict; an event its name and values."""
    entries = {(one.at_s, one.kind): one for one in read_timeline(whole_case.folder).entries}
    heard = entries[20.0, "heard"]
    assert (heard.who, heard.meaning, heard.item, heard.confidence) == (
        "team",
        "number",
        "weight",
        0.9,
    )
    assert (heard.values, heard.verdict, heard.why) == ({"number": 80}, "accept", None)
    doubted = entries[6.0, "heard"]
    assert (doubted.verdict, doubted.why) == ("ask", "not sure enough")
    told = next(one for one in entries.values() if one.meaning == "dose-told")
    assert (told.values["drug"], told.values["weight_kg"]) == ("rocuronium", 80)
    call = entries[65.25, "said"]
    assert (call.who, call.meaning) == ("watcher", "fell")
    assert call.values == {"level_percent": 92, "spo2_percent": 92}
    assert call.lasts_s == 2.0


def test_the_case_is_rebuilt_from_its_record(whole_case, site) -> None:
    """Folding the rows that were read back gives the state and the knowledge of the live case."""
    rebuilt = Case.rebuilt(site.brief, read_case(whole_case.folder)[1])
    assert rebuilt.state is whole_case.case.state
    assert rebuilt.known == whole_case.case.known
    assert rebuilt.known.weight_kg == 80


def test_the_case_is_rebuilt_from_any_beginning_of_its_record(whole_case, site) -> None:
    """Wherever the process was killed, the fold of what was on disk is the fold so far."""
    rows = read_case(whole_case.folder)[1]
    step_by_step = Case(site.brief)
    for count, row in enumerate(rows):
        rebuilt = Case.rebuilt(site.brief, rows[:count])
        assert (rebuilt.state, rebuilt.known) == (step_by_step.state, step_by_step.known)
        step_by_step.apply(row)


def test_a_case_that_nobody_watched(new_case: Callable) -> None:
    """Without the watcher's file the journal is the timeline, and that is told."""
    case = new_case()
    timeline = read_timeline(case.folder)
    assert not (case.folder / RECORD_NAME).exists()
    assert [entry.who for entry in timeline.entries] == ["assistant"]
    assert (timeline.saturation, timeline.notes, timeline.bad_lines) == (
        (),
        (NO_WATCHER,),
        0,
    )


def test_a_watcher_whose_conversation_left_no_record(new_case: Callable) -> None:
    """Its calls are read all the same, counted from its own first row, and the reader is told."""
    case = new_case()
    case.saturation(5.0, 93)
    case.call(7.5, "fell", 92, 92)
    for path in case.folder.glob(f"{FILE_NAME}*"):
        path.unlink()
    timeline = read_timeline(case.folder)
    assert times_of(timeline, "watcher") == [2.5]
    assert timeline.meta.case == case.folder.name
    assert "conversation's record is missing" in timeline.notes[0]


def test_altered_rows_are_counted_and_cost_nothing_else(new_case: Callable) -> None:
    """Of the watcher's record, and lines of an older version's that a power cut tore."""
    case = new_case()
    case.call(1.0, "fell", 92, 92)
    case.call(2.0, "fell", 90, 90)
    path = case.folder / RECORD_NAME
    with closing(sqlite3.connect(path, isolation_level=None)) as base:
        base.execute("UPDATE rows SET data = 'rubbish' WHERE seq = 2")
    path.with_suffix(".jsonl").write_bytes(b"\x00\x00rubbish\n")
    timeline = read_timeline(case.folder)
    assert times_of(timeline, "watcher") == [1.0]
    assert timeline.bad_lines == 2
    assert any("torn or altered" in note and "2" in note for note in timeline.notes)


def test_a_case_whose_process_was_killed(tmp_path: Path) -> None:
    """The journal of a process that got SIGKILL, its log still unfolded, is read as it is."""
    code = (
        "import os, sys, signal\n"
        "from pathlib import Path\n"
        "from assistant.clock import MonotonicClock\n"
        "from assistant.journal.journal import Journal\n"
        "journal = Journal(Path(sys.argv[1]), MonotonicClock(), 'Tarn Hollow')\n"
        "for text in ('one', 'two', 'three'): journal.append('team', 'heard', text)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    killed = subprocess.run([sys.executable, "-c", code, str(tmp_path)], check=False, cwd=ROOT)
    assert killed.returncode == -signal.SIGKILL
    assert (tmp_path / f"{FILE_NAME}-wal").stat().st_size > 0
    assert [entry.text for entry in read_timeline(tmp_path).entries] == ["one", "two", "three"]


def test_another_boot_is_placed_by_wall_time_when_both_are_trusted(
    tmp_path: Path, wall: list[WallReading]
) -> None:
    """The machine restarted: its monotonic clock began anew, the wall clock did not."""
    Journal(tmp_path, MonotonicClock(), "Tarn Hollow").append("team", "heard", "yes")
    record = WatcherRecord(tmp_path / RECORD_NAME)
    record.add(watcher_row(3.0, boot_id="another", wall=at_wall(61.5)))
    timeline = read_timeline(tmp_path)
    assert times_of(timeline, "watcher") == [61.5]
    assert "placed by wall time: 1" in timeline.notes[0]


def test_a_run_of_the_machine_that_the_case_knows_is_placed_by_its_clock(
    tmp_path: Path, wall: list[WallReading]
) -> None:
    """The case went on after a reboot and wrote down the shift: no wall clock is asked."""
    wall[0] = WallReading(STARTED, trusted=False)
    journal = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    began_s = journal.meta.started_mono_s
    data = boot_row("another", began_s + 100.0)
    journal.append("assistant", "event", "another run of the machine", data=data)
    record = WatcherRecord(tmp_path / RECORD_NAME)
    record.add(watcher_row(3.0, boot_id="another", wall_trusted=False))
    timeline = read_timeline(tmp_path)
    assert times_of(timeline, "watcher") == [103.0]
    assert not any("placed" in note for note in timeline.notes)


@pytest.mark.parametrize("which", ["case", "row"])
@pytest.mark.parametrize("strange", [{"boot_id": "another"}, {"clock": "sound"}])
def test_what_cannot_be_placed_stands_last(
    tmp_path: Path, wall: list[WallReading], which: str, strange: dict[str, str]
) -> None:
    """On another clock, with a wall clock that nothing vouches for, a call has no time at all."""
    wall[0] = WallReading(STARTED, trusted=which == "row")
    Journal(tmp_path, MonotonicClock(), "Tarn Hollow").append("team", "heard", "yes")
    record = WatcherRecord(tmp_path / RECORD_NAME)
    record.add(watcher_row(3.0, wall=at_wall(1.0), wall_trusted=which == "case", **strange))
    timeline = read_timeline(tmp_path)
    last = timeline.entries[-1]
    assert (last.who, last.at_s) == ("watcher", None)
    assert "cannot be placed" in timeline.notes[0]


def test_a_wall_clock_that_jumps_is_told_and_moves_nothing(
    tmp_path: Path, wall: list[WallReading]
) -> None:
    """A Pi that finds the time in the middle of a case: elapsed times do not know of it."""
    wall[:] = [
        WallReading("1970-01-01T00:00:01.000Z", trusted=False),
        WallReading("1970-01-01T00:00:01.100Z", trusted=False),
        WallReading(STARTED, trusted=True),
        WallReading(at_wall(0.1), trusted=True),
    ]
    journal = Journal(tmp_path, MonotonicClock(), "Tarn Hollow")
    for text in ("before", "after", "later"):
        journal.append("assistant", "said", text)
    timeline = read_timeline(tmp_path)
    assert [note.startswith("The wall clock jumped by +") for note in timeline.notes] == [
        True,
        False,
    ]
    assert timeline.notes[-1] == NO_WATCHER
    assert all(entry.at_s is not None and entry.at_s < 5.0 for entry in timeline.entries)


def test_a_long_utterance_is_no_jump_of_the_wall_clock(
    tmp_path: Path, wall: list[WallReading]
) -> None:
    """Its elapsed time is of its beginning and its wall time of its end."""
    clock = MonotonicClock()
    journal = Journal(tmp_path, clock, "Tarn Hollow")
    journal.append("team", "ignored", "", mono_s=clock.now_s() - 30.0)
    assert read_timeline(tmp_path).notes == (NO_WATCHER,)


def test_a_watcher_that_began_before_the_case(tmp_path: Path) -> None:
    """A call just before the conversation opened its record stands before the start."""
    Journal(tmp_path, MonotonicClock(), "Tarn Hollow").append("team", "heard", "yes")
    began_s = read_case(tmp_path)[0].started_mono_s
    WatcherRecord(tmp_path / RECORD_NAME).add(watcher_row(began_s - 1.5))
    assert read_timeline(tmp_path).entries[0].at_s == -1.5


def test_a_record_of_the_watcher_that_cannot_be_read(new_case: Callable) -> None:
    """The journal is shown, and the reader is told that the watcher's part is missing."""
    case = new_case()
    (case.folder / RECORD_NAME).mkdir()
    timeline = read_timeline(case.folder)
    assert len(timeline.entries) == 1
    assert "The watcher's record cannot be read" in timeline.notes[0]


def test_a_folder_without_a_case_is_refused(tmp_path: Path) -> None:
    """Neither a journal nor a row of a watcher."""
    (tmp_path / RECORD_NAME).write_text("torn", encoding="utf-8")
    with pytest.raises(BadInput, match="found no case"):
        read_timeline(tmp_path)
