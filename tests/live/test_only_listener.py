"""Two listeners for the same cases would both write one record."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.errors import BadInput
from assistant.journal.at_hand import memory_of
from assistant.live.only_listener import only_listener
from tests.live.test_pedal import SITE

LONGEST_S = 60.0


def test_the_second_says_so_and_ends(tmp_path: Path) -> None:
    """One sentence and code 2, before it opens anything; other cases are no matter."""
    only_listener(tmp_path / "others")
    only_listener(tmp_path / "cases")

    second = subprocess.run(
        [
            *(sys.executable, "-m", "assistant", "listen", "--no-watcher"),
            *("--site", str(SITE), "--cases", str(tmp_path / "cases")),
        ],
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        check=False,
    )

    assert second.returncode == 2
    assert second.stderr == (
        f"spoken-brief: {tmp_path / 'cases'}: found a listener that has these cases in hand; "
        "allowed: one.\n"
    )
    assert not (tmp_path / "cases" / "idle").exists()


def test_it_is_free_again_when_the_first_has_ended(tmp_path: Path) -> None:
    """However it ended: the lock is its open file."""
    os.close(only_listener(tmp_path))
    lock = only_listener(tmp_path)
    with pytest.raises(BadInput, match="found a listener"):
        only_listener(tmp_path)
    os.close(lock)


def test_a_disk_that_takes_nothing_keeps_nobody_from_listening(tmp_path: Path, monkeypatch) -> None:
    """The lock is in memory then; a file where the cases should be stands in for such a disk."""
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    (tmp_path / "cases").write_text("")
    lock = only_listener(tmp_path / "cases")
    assert list(memory_of(tmp_path / "cases").iterdir())
    with pytest.raises(BadInput, match="found a listener"):
        only_listener(tmp_path / "cases")
    os.close(lock)
