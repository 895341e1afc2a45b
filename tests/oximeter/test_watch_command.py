"""`spoken-brief watch --dry` and `spoken-brief devices`, as somebody at a bench types them."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.files.yaml_files import read_yaml
from assistant.oximeter.settings import OximeterSettings
from assistant.patient.finger import open_pty

ROOT = Path(__file__).parents[2]
LAYOUT = read_yaml(
    ROOT / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
).frame_layout
PATIENCE_S = 20.0


def test_a_recording_is_read_out_with_its_calls(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A table of figures is printed at once, with what would have been called and when."""
    shown = [97] * 10 + [92] * 10 + [0] * 15
    path = tmp_path / "table.csv"
    path.write_text("".join(f"12:00,{spo2},{70 + n % 3}\n" for n, spo2 in enumerate(shown)))

    assert main(["watch", "--dry", "--layout", "columns", "--replay", str(path)]) == 0

    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "     0.00 s  SpO2  97 %  pulse  70/min"
    assert [line for line in lines if "called" in line and "would be" in line] == [
        "    12.00 s  would be called: Saturation ninety-three.",
        "    29.02 s  would be called: No saturation signal. Look at the finger probe.",
    ]
    assert any("not believed: no saturation" in line for line in lines)
    assert lines[-1] == (
        "35 samples, 20 usable by what the device says, 20 believed; "
        "lowest saturation 92 %; 2 calls would have been made."
    )


def test_a_new_fall_is_shown_as_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lungs that never come above 95: the trial says the second call, and why it is made."""
    shown = [91] * 5 + [95] * 40 + [92] * 5
    path = tmp_path / "table.csv"
    path.write_text("".join(f"12:00,{spo2},{70 + n % 3}\n" for n, spo2 in enumerate(shown)))

    assert main(["watch", "--dry", "--layout", "columns", "--replay", str(path)]) == 0

    assert [line for line in capsys.readouterr().out.splitlines() if "would be called" in line] == [
        "     2.00 s  would be called: Saturation at or below ninety-three.",
        "    47.00 s  would be called: Saturation ninety-two.  (a new fall after a plateau)",
    ]


def test_a_device_is_tried_without_case_or_sound(tmp_path: Path) -> None:
    """From a real port: samples, the complaint about garbage, and the bytes kept in a file."""
    master, port = open_pty()
    kept = tmp_path / "kept.txt"
    words = ["watch", "--dry", "--port", port, "--record-raw", str(kept)]
    trial = subprocess.Popen(
        [sys.executable, "-m", "assistant", *words], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert trial.stdout is not None
    lines: list[str] = []
    os.set_blocking(trial.stdout.fileno(), False)

    def until(text: str, send: bytes) -> None:
        until_s = time.monotonic() + PATIENCE_S
        while not any(text in line for line in lines):
            assert time.monotonic() < until_s, lines
            os.write(master, send)
            time.sleep(0.05)
            lines.extend(trial.stdout or [])

    until("SpO2  97 %  pulse  80/min", LAYOUT.encode(97, 80, 50))
    until("nothing in them can be read", b"\x00\x11\x22")
    trial.send_signal(signal.SIGINT)
    rest, _ = trial.communicate(timeout=PATIENCE_S)
    os.close(master)

    assert trial.returncode == 0
    assert "believed; lowest saturation 97 %" in rest
    assert LAYOUT.encode(97, 80, 50).hex() in kept.read_text("ascii")


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (["watch", "--dry", "--layout", "nothing"], "five-byte, three-byte"),
        (["watch", "--dry", "--replay", "nothing"], "no such file"),
        (["watch", "--dry", "--replay", "nothing", "--port", "x"], "a recording or a device"),
        (["watch", "--case", "no such folder"], "a case's folder"),
    ],
)
def test_what_makes_no_sense_is_refused(
    words: list[str], complaint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence and exit code 2; nothing half-starts."""
    assert main(words) == 2
    assert complaint in capsys.readouterr().err


@pytest.mark.parametrize("words", [["watch"], ["watch", "--dry", "--case", "."]])
def test_it_is_either_for_a_case_or_dry(words: list[str]) -> None:
    """Neither and both are refused as the command line refuses."""
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2


def test_devices_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever the machine has, or has not, is said, and it ends well."""
    assert main(["devices"]) == 0

    out = capsys.readouterr().out
    assert "Serial ports" in out
    assert "Sound devices" in out
