"""Cases come home from memory whole, and in nobody else's place."""

import shutil
from pathlib import Path

import pytest

from assistant.clock import SoundClock
from assistant.errors import BadInput
from assistant.journal import in_memory
from assistant.journal.at_hand import case_at_hand, made_memory, take_in_hand
from assistant.journal.in_memory import settle, takes_records
from assistant.journal.journal import Journal, read_case


@pytest.fixture
def cases(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of cases, and a place for memory; nobody else looks at them."""
    (tmp_path / "memory").mkdir()
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "memory"))
    monkeypatch.setattr(in_memory, "LETS_GO_S", 0.0)
    (tmp_path / "cases").mkdir()
    return tmp_path / "cases"


def begun(folder: Path, text: str, at_s: float = 0.0) -> Path:
    """A case with one row."""
    folder.mkdir()
    clock = SoundClock()
    clock.move_to(at_s)
    journal = Journal(folder, clock, "Small brief")
    journal.append("team", "heard", text)
    journal.close()
    return folder


def texts(cases: Path) -> dict[str, list[str]]:
    """What is in each case."""
    return {one.name: [row.text for row in read_case(one)[1]] for one in sorted(cases.iterdir())}


def test_another_case_of_the_same_name_is_left_alone(cases: Path) -> None:
    """A machine without a clock battery gives a name twice: both are kept."""
    begun(cases / "one", "on the disk")
    begun(made_memory(cases) / "one", "in memory", at_s=1.0)
    assert settle(cases, None)
    assert texts(cases) == {"one": ["on the disk"], "one-2": ["in memory"]}


def test_the_case_at_hand_stays_at_hand_wherever_it_comes_to_lie(cases: Path) -> None:
    """Also under another name; and what the disk has of it gives way to the whole."""
    half = begun(cases / "one", "the beginning")
    whole = Path(shutil.copytree(half, made_memory(cases) / "one"))
    Journal(whole, SoundClock(), None).append("team", "heard", "the rest")
    take_in_hand(cases, whole)
    assert settle(cases, whole)
    assert case_at_hand(cases) == cases / "one"
    (cases / "current").unlink()
    assert texts(cases) == {"one": ["the beginning", "the rest"]}


def test_what_a_power_cut_left_on_its_way_is_kept_as_far_as_it_came(cases: Path) -> None:
    """Where nothing else is left of that case; else it goes."""
    begun(cases / ".bringing-one", "on its way")
    begun(cases / "two", "there")
    begun(cases / ".bringing-two", "half of it")
    begun(cases / ".bringing-three", "half of it")
    begun(made_memory(cases) / "three", "in memory still")
    assert settle(cases, None)
    assert texts(cases) == {"one": ["on its way"], "two": ["there"], "three": ["in memory still"]}


def test_what_is_no_folder_for_cases_is_refused(tmp_path: Path) -> None:
    """A file was named, or something in one: that is no disk that is full."""
    (tmp_path / "file").write_text("")
    for named in (tmp_path / "file", tmp_path / "file" / "cases"):
        with pytest.raises(BadInput, match="a folder for cases"):
            takes_records(named)
