"""A rehearsal that is killed at any moment leaves a case that can be read, with all of it."""

import json
import os
import random
import shutil
import signal
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
MOMENTS = sorted(
    (one.randint(3, LINES), one.uniform(0.0, 0.3)) for one in map(random.Random, range(10))
)
"""So many seconds after so many lines were printed."""


def test_everything_said_before_a_kill_is_on_record(
    tmp_path: Path,
    plain_env: dict[str, str],
    printed_at: Callable[[str], tuple[float, str, str] | None],
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The debrief reads the case, and has every line that was printed, and the room's sound.

    A process that is stopped has on disk what it would leave if it were killed: at each moment the
    case is copied so, and at the last one it is killed.
    """
    out, cases = tmp_path / "printed", tmp_path / "cases"
    left = []
    with (
        out.open("w") as printing,
        subprocess.Popen(
            [sys.executable, "-m", "assistant", "rehearse", str(SHORT), "--cases", str(cases)],
            stdout=printing,
            stderr=subprocess.DEVNULL,
            cwd=ROOT,
            env=plain_env,
        ) as process,
    ):
        for number, (lines, delay_s) in enumerate(MOMENTS, start=1):
            while out.read_text().count("\n") < lines:
                assert process.poll() is None, "it ended before it could be stopped"
                time.sleep(0.01)
            time.sleep(delay_s)
            if number == len(MOMENTS):
                process.kill()
                process.wait()
            else:
                process.send_signal(signal.SIGSTOP)
                os.waitpid(process.pid, os.WUNTRACED)
            (folder,) = cases.iterdir()
            copy = Path(shutil.copytree(folder, tmp_path / f"killed-{number}"))
            left.append((copy, out.read_text()))
            process.send_signal(signal.SIGCONT)

    for (copy, printed), (lines, _) in zip(left, MOMENTS, strict=True):
        whole_lines = printed[: printed.rfind("\n")].split("\n")
        transcript = [one for one in map(printed_at, whole_lines) if one is not None]
        assert main(["debrief", str(copy), "--json"]) == 0
        entries = json.loads(capsys.readouterr().out)["entries"]
        assert len(transcript) >= lines - 2
        for at_s, who, text in transcript:
            assert any(_tells(one, at_s, who, text) for one in entries), (at_s, who, text)
        recording = soundfile.info(copy / RECORDING_NAME)
        assert recording.frames / recording.samplerate > max(at_s for at_s, *_ in transcript) - 0.2


def _tells(entry: dict[str, Any], at_s: float, who: str, text: str) -> bool:
    """Whether an entry of the debrief is what that line of the transcript said."""
    if entry["who"] != who or abs(entry["at_s"] - at_s) > 0.11:
        return False
    if entry["kind"] == "ignored":
        return bool(text == f"[{entry['why']}]")
    return bool(entry["text"] == text.removesuffix("  (not sure)"))
