"""At the speed of life the watcher is a process of its own, and ends with its rehearsal."""

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from assistant.debrief.timeline import read_timeline
from assistant.oximeter.record import RECORD_NAME

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
PATIENCE_S = 30.0
SCENARIO = """
name: "One call"
seed: 3
people:
  operator: {voice: {engine: natural, name: joe}}
replies:
  - {on: call, by: operator, say: "end the case", after_s: 1}
  - {on: closing, by: operator, say: "yes confirmed"}
patient:
  weight_kg: 70
  height_cm: 170
  start_spo2_percent: 94
  start_oxygen_fraction: 0.21
  oxygen_use: 3.0
  steps:
    - {at_s: 0.5, does: apnoea}
    - {at_s: 9, does: bag}
expected:
  calls: 1
  longest_s: 55
  outstanding: [mask]
"""
BRIEF = """
name: "Small brief"
roster: [{id: registrar, called: "the registrar", said: ["the registrar"]}]
sections:
  - {id: bag, phase: before, to: "Bag", items: [
      {id: mask, kind: confirm, ask: "Is the mask sealed?", why: "It leaks.",
       sources: [common-practice]}]}
attempts: {after_failure: ["Bag now."]}
"""


class RealTime:
    """A rehearsal in real time, in a process of its own, at a site with one item."""

    def __init__(self, folder: Path, env: dict[str, str]) -> None:
        site = folder / "site"
        shutil.copytree(ROOT / "configs" / "tarn-hollow", site)
        (site / "brief.yaml").write_text(BRIEF, encoding="utf-8")
        (folder / "scenario.yaml").write_text(SCENARIO, encoding="utf-8")
        self._cases = folder / "cases"
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "assistant", "rehearse", str(folder / "scenario.yaml")),
                *("--site", str(site), "--cases", str(self._cases), "--real-time"),
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env=env,
        )

    @property
    def case(self) -> Path:
        (folder,) = self._cases.iterdir()
        return folder

    def watchers(self) -> list[int]:
        """The processes that watch this case's oximeter."""
        found = []
        for process in Path("/proc").iterdir():
            with suppress(OSError):
                called = (process / "cmdline").read_bytes().split(b"\0")
                if b"watch" in called and os.fsencode(self._cases) in b" ".join(called):
                    found.append(int(process.name))
        return found


@contextmanager
def rehearsing(folder: Path, env: dict[str, str]) -> Iterator[RealTime]:
    """Whatever a test does, nothing goes on after it."""
    running = RealTime(folder, env)
    try:
        yield running
    finally:
        running.process.kill()
        running.process.communicate()
        for left in running.watchers():
            os.kill(left, signal.SIGKILL)


def wait_for(what: Callable[[], object]) -> bool:
    """Whether it came about within our patience."""
    until_s = time.monotonic() + PATIENCE_S
    while not what() and time.monotonic() < until_s:
        time.sleep(0.05)
    return bool(what())


def test_one_call_from_a_process_of_its_own(tmp_path: Path, plain_env: dict[str, str]) -> None:
    """The watcher's process calls once; the rehearsal hears of it and ends as expected."""
    with rehearsing(tmp_path, plain_env) as running:
        assert wait_for(running.watchers)
        (watcher,) = running.watchers()
        printed, complaints = running.process.communicate(timeout=120)
        assert wait_for(lambda: not running.watchers())

    timeline = read_timeline(running.case)
    calls = [one for one in timeline.entries if (one.who, one.kind) == ("watcher", "said")]
    replies = [one.text for one in timeline.entries if one.kind == "heard"]
    assert (running.process.returncode, complaints) == (0, ""), printed
    assert watcher != running.process.pid
    assert [(one.meaning, one.values["level_percent"]) for one in calls] == [("fell", 93)]
    assert replies == ["end the case", "yes confirmed"]
    assert timeline.meta.clock == "monotonic"
    assert not timeline.notes


def test_the_watcher_of_a_rehearsal_ends_when_its_parent_is_killed(
    tmp_path: Path, plain_env: dict[str, str]
) -> None:
    """After SIGKILL of the rehearsal nobody goes on watching a simulated patient."""
    with rehearsing(tmp_path, plain_env) as running:
        assert wait_for(lambda: running.watchers() and (running.case / RECORD_NAME).exists())
        running.process.kill()
        running.process.wait()

        assert wait_for(lambda: not running.watchers())
