"""Which case is at hand, on the disk or in the machine's memory, for all who look."""

from pathlib import Path

import pytest

from assistant.clock import SoundClock
from assistant.errors import BadInput
from assistant.journal.at_hand import (
    IDLE,
    case_at_hand,
    folder_at_hand,
    idle_folder,
    lay_down,
    made_memory,
    memory_of,
    take_in_hand,
    unfinished_case,
)
from assistant.journal.journal import FILE_NAME, Journal


@pytest.fixture
def cases(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of cases with one in it, and a place for memory."""
    (tmp_path / "memory").mkdir()
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "memory"))
    (tmp_path / "cases" / "one").mkdir(parents=True)
    return tmp_path / "cases"


def test_memory_is_one_place_for_all_of_a_user(
    cases: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The session's own folder, or shared memory, and never where the program was started; other
    cases have another."""
    assert memory_of(cases).parent == tmp_path / "memory"
    assert memory_of(cases) == memory_of(tmp_path / "cases" / ".." / "cases")
    monkeypatch.delenv("XDG_RUNTIME_DIR")
    monkeypatch.chdir(tmp_path)
    other = memory_of(tmp_path / "others")
    assert tmp_path not in other.parents
    assert other.name != memory_of(cases).name
    assert not other.exists()


def test_the_link_in_memory_counts_before_the_disks(cases: Path) -> None:
    """The disk's cannot be taken away where it takes nothing; and the folder between cases is no
    case."""
    take_in_hand(cases, cases / "one")
    assert case_at_hand(cases) == cases / "one"
    memory = made_memory(cases)
    (memory / "two").mkdir()
    take_in_hand(cases, memory / "two")
    assert case_at_hand(cases) == folder_at_hand(cases) == memory / "two"
    take_in_hand(cases, memory / IDLE)
    assert case_at_hand(cases) is None
    assert folder_at_hand(cases) == idle_folder(cases) == memory / IDLE
    assert case_at_hand(cases) is None
    take_in_hand(cases, cases / "one")
    assert case_at_hand(cases) == cases / "one"
    lay_down(cases)
    assert case_at_hand(cases) is None
    assert folder_at_hand(cases) == cases / IDLE


def test_what_others_may_have_put_into_memory_is_not_followed(cases: Path, tmp_path: Path) -> None:
    """A folder that others can read is refused, and so is a link in the place of one."""
    memory = made_memory(cases)
    (memory / "two").mkdir()
    take_in_hand(cases, memory / "two")
    memory.chmod(0o755)
    assert case_at_hand(cases) is None
    with pytest.raises(PermissionError):
        made_memory(cases)
    memory.chmod(0o700)
    memory.rename(tmp_path / "elsewhere")
    memory.symlink_to(tmp_path / "elsewhere")
    assert case_at_hand(cases) is None
    with pytest.raises(PermissionError):
        made_memory(cases)


@pytest.mark.parametrize("ended", [True, False])
def test_of_a_damaged_record_it_is_read_whether_the_case_was_ended(
    cases: Path, *, ended: bool
) -> None:
    """A page in its middle is gone: the rows after it tell that it is over, or nobody knows."""
    journal = Journal(cases / "one", SoundClock(), "a site")
    for number in range(300):
        journal.append("team", "heard", f"row {number}")
    if ended:
        journal.append("assistant", "event", "the case is ended", data={"event": "ended"})
    journal.close()
    take_in_hand(cases, cases / "one")
    assert unfinished_case(cases) == (None if ended else cases / "one")
    file = cases / "one" / FILE_NAME
    with file.open("r+b") as base:
        base.seek(file.stat().st_size // 4096 // 2 * 4096)
        base.write(bytes(range(256)) * 16)

    if ended:
        assert unfinished_case(cases) is None
    else:
        with pytest.raises(BadInput, match="cannot be read"):
            unfinished_case(cases)
