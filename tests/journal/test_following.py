"""The folder at hand, for the watcher."""

import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.journal import following
from assistant.journal.at_hand import IDLE, folder_at_hand, take_in_hand
from assistant.journal.following import Following

PATIENCE_S = 20.0


def comes_true(wanted: Callable[[], bool]) -> bool:
    until_s = time.monotonic() + PATIENCE_S
    while not wanted() and time.monotonic() < until_s:
        time.sleep(0.01)
    return wanted()


def test_it_goes_where_the_case_goes(tmp_path: Path) -> None:
    """At first to the folder that stands in for one, then to the case."""
    at_hand = Following(tmp_path)
    assert at_hand() == tmp_path / IDLE

    (tmp_path / "one").mkdir()
    take_in_hand(tmp_path, tmp_path / "one")

    assert comes_true(lambda: at_hand() == tmp_path / "one")


def test_a_disk_that_hangs_holds_nobody_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As long as a look at it lasts, the last folder is told."""
    at_hand = Following(tmp_path)
    hangs, goes_on = threading.Event(), threading.Event()

    def stalled(cases: Path) -> Path:
        hangs.set()
        goes_on.wait()
        return folder_at_hand(cases)

    monkeypatch.setattr(following, "folder_at_hand", stalled)
    assert hangs.wait(PATIENCE_S)
    (tmp_path / "one").mkdir()
    take_in_hand(tmp_path, tmp_path / "one")

    assert at_hand() == tmp_path / IDLE

    goes_on.set()
    assert comes_true(lambda: at_hand() == tmp_path / "one")


def test_where_there_is_room_for_no_folder_it_stays_where_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk and the memory take nothing any more."""
    at_hand = Following(tmp_path)
    looked = threading.Event()

    def full(_cases: Path) -> Path:
        looked.set()
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(following, "folder_at_hand", full)
    assert looked.wait(PATIENCE_S)

    assert at_hand() == tmp_path / IDLE
