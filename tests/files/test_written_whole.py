"""Who may read a file that was written."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.files.named_files import FOR_ALL, write_whole


@pytest.fixture(autouse=True)
def mask() -> Iterator[None]:
    """The usual one of a system."""
    before = os.umask(0o022)
    yield
    os.umask(before)


def test_what_tells_of_a_case_only_its_owner_reads(tmp_path: Path) -> None:
    """Unless it is said to tell nothing of one: the sheet of phrases is for the whole team."""
    write_whole(tmp_path / "report.html", b"of a case")
    write_whole(tmp_path / "phrases.html", b"of none", mode=FOR_ALL)

    modes = {path.name: path.stat().st_mode & 0o777 for path in tmp_path.iterdir()}
    assert modes == {"report.html": 0o600, "phrases.html": 0o644}
