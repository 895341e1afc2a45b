"""The command line, called as a shell would call it."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from assistant.commands.main import main

ROOT = Path(__file__).parents[2]
TARN_HOLLOW = ROOT / "configs" / "tarn-hollow"


@dataclass(frozen=True)
class Called:
    """What one call of the command did."""

    code: int
    out: str
    err: str

    @property
    def sentence(self) -> str:
        """The one line of its complaint."""
        (line,) = self.sentences
        return line

    @property
    def sentences(self) -> list[str]:
        """All of them, a line each."""
        return self.err.removeprefix("spoken-brief: ").splitlines()


Command = Callable[..., Called]


@pytest.fixture
def command(capsys: pytest.CaptureFixture[str]) -> Command:
    """Runs one command in this process."""

    def call(*arguments: str | Path) -> Called:
        code = main([str(one) for one in arguments])
        told = capsys.readouterr()
        return Called(code, told.out, told.err)

    return call


@pytest.fixture
def own_site(tmp_path: Path) -> Path:
    """A copy of the example site, to be spoilt."""
    return Path(shutil.copytree(TARN_HOLLOW, tmp_path / "own-site"))
