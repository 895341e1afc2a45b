"""A rehearsal that is killed at any moment leaves a case that can be read, with all of it."""

import json
import random
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import soundfile

from assistant.commands.main import main
from assistant.rehearsal.conductor import RECORDING_NAME

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
SHORT = ROOT / "configs" / "rehearsals" / "short.yaml"
LINES = 38
"""What the short rehearsal prints at the least before its last line."""
MOMENTS = [(one.randint(3, LINES), one.uniform(0.0, 0.3)) for one in map(random.Random, range(10))]
"""Killed so many seconds after so many lines were printed."""


def printed_until_killed(cases: Path, env: dict[str, str], lines: int, delay_s: float) -> list[str]:
    """Rehearse, kill it with SIGKILL at that moment, and return what it had printed by then."""
    with subprocess.Popen(
        [sys.executable, "-m", "assistant", "rehearse", str(SHORT), "--cases", str(cases)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        cwd=ROOT,
        env=env,
    ) as process:
        assert process.stdout is not None
        printed = [process.stdout.readline() for _ in range(lines)]
        time.sleep(delay_s)
        assert process.poll() is None, "it ended before it could be killed"
        process.kill()
        printed += process.stdout.readlines()
    return [line.rstrip("\n") for line in printed if line.endswith("\n")]


@pytest.mark.parametrize(("lines", "delay_s"), MOMENTS)
def test_everything_said_before_the_kill_is_on_record(
    *,
    tmp_path: Path,
    plain_env: dict[str, str],
    printed_at: Callable[[str], tuple[float, str, str] | None],
    capsys: pytest.CaptureFixture[str],
    lines: int,
    delay_s: float,
) -> None:
    """The debrief reads the case, and has every line that was printed, and the room's sound."""
    printed = printed_until_killed(tmp_path, plain_env, lines, delay_s)
    transcript = [one for one in map(printed_at, printed) if one is not None]
    (folder,) = tmp_path.iterdir()

    assert main(["debrief", str(folder), "--json"]) == 0
    entries = json.loads(capsys.readouterr().out)["entries"]
    assert len(transcript) >= lines - 2
    for at_s, who, text in transcript:
        assert any(_tells(one, at_s, who, text) for one in entries), (at_s, who, text)
    recording = soundfile.info(folder / RECORDING_NAME)
    assert recording.frames / recording.samplerate > max(at_s for at_s, *_ in transcript) - 0.2


def _tells(entry: dict[str, Any], at_s: float, who: str, text: str) -> bool:
    """Whether an entry of the debrief is what that line of the transcript said."""
    if entry["who"] != who or abs(entry["at_s"] - at_s) > 0.11:
        return False
    if entry["kind"] == "ignored":
        return bool(text == f"[{entry['why']}]")
    return bool(entry["text"] == text.removesuffix("  (not sure)"))
