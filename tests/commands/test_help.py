"""The help of the command and of each of its commands."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.commands.main import main

ROOT = Path(__file__).parents[2]
OPTIONS = {
    "rehearse": ("SCENARIO", "--site", "--cases", "--engine", "--models", "--real-time", "--play"),
    "hear": ("FILE", "--asking", "--site", "--engine", "--models"),
    "check": ("SCENARIO", "--site"),
    "dose": ("DRUG", "--weight-kg", "--height-cm", "--sex", "--low-pressure", "--json", "--site"),
    "card": ("--weight-kg", "--height-cm", "--sex", "--out", "--site"),
    "debrief": (
        "CASE",
        "--json",
        "--csv",
        "--html",
        "--aloud",
        "--follow",
        "--redact",
        "--all",
        "--verify",
        "--ratings",
    ),
    "cases": ("--cases", "--export", "--remove", "--keep-days", "--site"),
    "mark": ("CASE", "TEXT", "--kind", "--cases"),
    "patient": ("SCENARIO", "--plot", "--live", "--site"),
    "watch": ("--case", "--port", "--ends-with", "--site"),
}
CAUTION = "Not a medical device and not a monitor's alarm"


def help_of(*arguments: str, capsys: pytest.CaptureFixture[str]) -> str:
    """Its help as one line, without the breaks."""
    with pytest.raises(SystemExit) as ended:
        main([*arguments, "--help"])
    assert ended.value.code == 0
    return re.sub(r"\s+", " ", capsys.readouterr().out)


def test_the_command_tells_of_its_commands(capsys: pytest.CaptureFixture[str]) -> None:
    """Every command is named with what it is for, and the caution stands below."""
    text = help_of(capsys=capsys)

    assert text.startswith("usage: spoken-brief")
    assert CAUTION in text
    for name in OPTIONS:
        assert re.search(rf" {name} [a-z]+ [a-z]+", text), name


@pytest.mark.parametrize("name", OPTIONS)
def test_each_command_tells_of_its_options(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every option is named, there is a sentence of what it does, and the caution."""
    text = help_of(name, capsys=capsys)

    assert text.startswith(f"usage: spoken-brief {name} ")
    for option in OPTIONS[name]:
        assert option in text
    assert re.search(r"[A-Z][^.]+\. ", text)
    assert CAUTION in text


def test_an_option_that_there_is_not_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """With 2, as everything else that cannot be used."""
    with pytest.raises(SystemExit) as ended:
        main(["rehearse", "--louder"])

    assert ended.value.code == 2
    assert "--louder" in capsys.readouterr().err


def test_the_installed_module_is_the_command() -> None:
    """`python -m assistant` is the same command, also by name."""
    told = subprocess.run(
        [sys.executable, "-m", "assistant", "--help"],
        check=True,
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    assert told.stdout.startswith("usage: spoken-brief")
