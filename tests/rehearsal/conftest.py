"""Rehearsals through the installed command, in a process of their own."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from assistant.rehearsal.scenario import Scenario, read_scenario
from assistant.site.site import Site
from tests.rehearsal.offline import guarded, without_interfaces
from tests.tarn_hollow import SITE

ROOT = Path(__file__).parents[2]
REHEARSALS = ROOT / "configs" / "rehearsals"
COMMAND = (sys.executable, "-m", "assistant")
PLAIN_ENV = dict(os.environ)


@dataclass(frozen=True)
class Rehearsed:
    """One rehearsal that was run to its end."""

    code: int
    printed: str
    complaints: str
    folder: Path
    debrief: dict[str, Any]
    """What `debrief --json` tells of it."""

    def entries(self, who: str, kind: str) -> list[dict[str, Any]]:
        """What somebody did, in order."""
        return [one for one in self.debrief["entries"] if (one["who"], one["kind"]) == (who, kind)]


class Running:
    """A rehearsal that has been started."""

    def __init__(self, cases: Path, *options: str, offline: bool = False) -> None:
        self._cases = cases
        self._out = cases.parent / f"{cases.name}.out"
        self._err = cases.parent / f"{cases.name}.err"
        with self._out.open("w") as out, self._err.open("w") as err:
            command = [*COMMAND, "rehearse", "--cases", str(cases), *options]
            self._process = subprocess.Popen(
                without_interfaces(command) if offline else command,
                stdout=out,
                stderr=err,
                cwd=ROOT,
                env=guarded(PLAIN_ENV, cases.parent) if offline else PLAIN_ENV,
            )

    def kill(self) -> None:
        """End it if it still runs."""
        self._process.kill()
        self._process.wait()

    def finished(self) -> Rehearsed:
        """Wait for its end, and debrief it with the command."""
        code = self._process.wait(timeout=600)
        printed, complaints = self._out.read_text(), self._err.read_text()
        assert self._cases.is_dir(), complaints
        (folder,) = self._cases.iterdir()
        told = subprocess.run(
            [*COMMAND, "debrief", str(folder), "--json"],
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
            env=PLAIN_ENV,
        )
        return Rehearsed(code, printed, complaints, folder, json.loads(told.stdout))


@pytest.fixture(scope="session")
def site() -> Site:
    return SITE


@pytest.fixture(scope="session")
def night_shift_scenario(site: Site) -> Scenario:
    return read_scenario(REHEARSALS / "night-shift.yaml", site)


@pytest.fixture(scope="session")
def night_shift(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Rehearsed]:
    """The night shift, played once for all tests, with no network."""
    running = Running(tmp_path_factory.mktemp("night-shift") / "cases", offline=True)
    yield running.finished()
    running.kill()


@pytest.fixture(scope="session")
def begin() -> type[Running]:
    """Starts a rehearsal: the folder for its case, then the command's options."""
    return Running


@pytest.fixture
def printed_at() -> Callable[[str], tuple[float, str, str] | None]:
    """Takes a line of the transcript apart: seconds, who, text; None for any other line."""

    def parse(line: str) -> tuple[float, str, str] | None:
        minutes, colon, rest = line.partition(":")
        if not (colon and minutes.strip().isdigit()):
            return None
        seconds, who, text = rest.split(maxsplit=2)
        return int(minutes) * 60 + float(seconds), who, text.strip()

    return parse


@pytest.fixture(scope="session")
def plain_env() -> dict[str, str]:
    """The environment as pytest found it: other tests move the cache of speech for themselves."""
    return dict(PLAIN_ENV)
