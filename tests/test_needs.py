"""What tests need of the machine: skipped, failed, and counted in the closing line."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.needs import THERE, need

ROOT = Path(__file__).parents[1]


@pytest.fixture
def lacking(monkeypatch: pytest.MonkeyPatch) -> str:
    """A package that is not on this machine."""
    monkeypatch.setitem(THERE, "shellcheck", lambda: None)
    return "shellcheck"


def test_what_could_not_be_installed_is_skipped(
    lacking: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nobody has tried to, and where it is named among what is lacking."""
    monkeypatch.delenv("SPOKEN_BRIEF_LACKS", raising=False)
    with pytest.raises(pytest.skip.Exception, match="shellcheck is not installed"):
        need(lacking)
    monkeypatch.setenv("SPOKEN_BRIEF_LACKS", "udev shellcheck-driver")
    with pytest.raises(pytest.skip.Exception, match="shellcheck is not installed"):
        need(lacking)


def test_what_was_installed_and_is_not_there_fails(
    lacking: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No test is lost in silence."""
    monkeypatch.setenv("SPOKEN_BRIEF_LACKS", "udev")
    with pytest.raises(pytest.fail.Exception, match=r"hardware/setup\.sh has installed it"):
        need(lacking)


def test_the_last_line_counts_the_skipped_and_says_why() -> None:
    """With their reason, one count for each."""
    environment = {name: value for name, value in os.environ.items() if "PYTEST" not in name}
    environment.pop("SPOKEN_BRIEF_SHARED", None)
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "tests/oximeter/test_open_recordings.py"],
        check=False,
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=environment,
    )
    last = ran.stdout.splitlines()[-1]

    assert ran.returncode == 0
    assert last.startswith("Skipped: ")
    assert last.endswith("because SPOKEN_BRIEF_SHARED is not set)")
