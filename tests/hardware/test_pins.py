"""The pins: every package that an installation brings, with its hashes, and no other."""

import re
import subprocess
import sys
from importlib.metadata import PackageNotFoundError, requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement

HARDWARE = Path(__file__).parents[2] / "hardware"
EXTRAS = ("bluetooth", "glance", "pi", "plot", "rehearsal", "test")


def pinned(*words: str) -> subprocess.CompletedProcess[str]:
    """What `hardware/pinned.py` prints."""
    order = [sys.executable, str(HARDWARE / "pinned.py"), *words]
    return subprocess.run(order, check=False, capture_output=True, text=True)


def names(printed: str) -> set[str]:
    return {line.partition("==")[0] for line in printed.splitlines() if "==" in line}


@pytest.mark.parametrize("extras", [(), *((one,) for one in EXTRAS), ("pi", "glance")])
def test_with_a_package_come_all_that_it_needs(extras: tuple[str, ...]) -> None:
    """For any extras: what is installed says itself what it needs here."""
    told = names(pinned(*extras).stdout)
    missing = set()
    for name in told:
        try:
            needed = [Requirement(line) for line in requires(name) or ()]
        except PackageNotFoundError:  # of an extra that is not installed here
            continue
        here = [one for one in needed if one.marker is None or one.marker.evaluate({"extra": ""})]
        missing |= {re.sub(r"[-_.]+", "-", one.name).lower() for one in here} - told

    assert missing == set()


def test_every_pin_has_its_hashes() -> None:
    """A file of a package that is not the one that was pinned is refused."""
    text = (HARDWARE / "pins.txt").read_text(encoding="utf-8")
    pins = re.split(r"\n(?=\w)", text.strip())

    assert [pin for pin in pins if not re.match(r"\S+==\S+ \\\n +--hash=sha256:\w{64}", pin)] == []


def test_a_trolley_gets_no_tools_of_the_developers() -> None:
    """Only what the program and its hardware need."""
    told = names(pinned("pi", "glance").stdout)

    assert {"gpiozero", "waitress", "onnxruntime", "setuptools"} <= told
    assert not {"pytest", "mypy", "ruff", "piper-tts"} & told


def test_an_extra_that_there_is_not_is_refused() -> None:
    """One sentence, and nothing to install."""
    refused = pinned("pie")

    assert (refused.returncode, refused.stdout) == (1, "")
    assert "found the extra 'pie'; allowed: bench, bluetooth, " in refused.stderr
