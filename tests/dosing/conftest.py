"""The formulary that the tests calculate with: the demonstration site's own file."""

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
