"""The command line, called as a shell would call it."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.errors import BadInput
from assistant.site import site
from assistant.site.site import Site

ROOT = Path(__file__).parents[2]
TARN_HOLLOW = ROOT / "configs" / "tarn-hollow"
READ_SITE, AS_A_WHOLE = site._read, site._as_a_whole


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


@pytest.fixture
def good_site_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The example site, which most calls have and none spoils, is read and checked once for all."""

    def read(folder: Path, faults: list[BadInput]) -> Site | None:
        return _good_site() if folder.resolve() == TARN_HOLLOW else READ_SITE(folder, faults)

    def as_a_whole(parts: Site) -> Iterator[BadInput]:
        return iter(()) if parts is _good_site() else AS_A_WHOLE(parts)

    monkeypatch.setattr(site, "_read", read)
    monkeypatch.setattr(site, "_as_a_whole", as_a_whole)


@cache
def _good_site() -> Site:
    parts = READ_SITE(TARN_HOLLOW, [])
    assert parts is not None
    assert list(AS_A_WHOLE(parts)) == []
    return parts
