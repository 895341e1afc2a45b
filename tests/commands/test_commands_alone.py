"""Each command loads its own module and what that needs, and no more."""

import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from assistant.commands.main import COMMANDS

ROOT = Path(__file__).parents[2]
CASE = "no such case"
HEAVY = {"lemminflect", "noisereduce", "onnxruntime", "pint", "rapidfuzz", "scipy", "vosk"}
"""What only hearing needs, or only the doses do."""


def loaded_by(*words: str) -> set[str]:
    """The modules that a command has loaded when it ends, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "assistant", *words],
        cwd=ROOT,
        env={**os.environ, "COLUMNS": "80"},
        capture_output=True,
        text=True,
        check=False,
    )
    lines = [line for line in done.stderr.splitlines() if line.startswith("import time:")]
    assert len(lines) > 50, done.stderr
    return {line.rsplit("|", 1)[1].strip() for line in lines}


def packages(modules: set[str]) -> set[str]:
    """The top of each module's name."""
    return {module.split(".")[0] for module in modules}


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_what_the_command_line_asks_of_it(name: str) -> None:
    """Each name in the table is a module with a description, options and a run."""
    module = import_module(f"assistant.commands.{name}")
    assert module.DESCRIPTION.endswith(".") or name == "patient"
    assert callable(module.add_options)
    assert callable(module.run)


def test_the_help_loads_no_command() -> None:
    """It comes from the table alone."""
    modules = loaded_by("--help")
    assert {f"assistant.commands.{name}" for name in COMMANDS} & modules == set()


@pytest.mark.parametrize(
    ("words", "may_have"),
    [
        (("debrief", CASE), set()),
        (("devices",), set()),
        (("models", "list"), set()),
        (("dose", "rocuronium", "--weight-kg", "70"), {"pint", "scipy"}),
        (("card", "--weight-kg", "70"), {"pint", "scipy"}),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_a_command_on_paper_loads_no_recogniser(words: tuple[str, ...], may_have: set[str]) -> None:
    """Who reads a record or a dose waits for no recogniser; doses alone need units."""
    assert packages(loaded_by(*words)) & HEAVY <= may_have
