"""The formulary that the tests calculate with: the demonstration site's own file."""

from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.dosing.formulary import Formulary
from assistant.dosing.reading import read_formulary

FORMULARY = Path(__file__).parents[2] / "configs" / "tarn-hollow" / "formulary.yaml"


@pytest.fixture(scope="session")
def formulary_path() -> Path:
    """Where the demonstration formulary lies."""
    return FORMULARY


@pytest.fixture(scope="session")
def formulary() -> Formulary:
    """The demonstration formulary."""
    return read_formulary(FORMULARY)


Exchanged = Callable[..., Path]


@pytest.fixture
def exchanged(tmp_path: Path) -> Exchanged:
    """Makes a copy of a file with another text in the place of one that must stand there."""

    def exchange(path: Path, old: str, new: str, times: int = -1) -> Path:
        text = path.read_text("utf-8")
        assert old in text
        copy = tmp_path / path.name
        copy.write_text(text.replace(old, new, times), "utf-8")
        return copy

    return exchange
