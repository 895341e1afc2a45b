"""The repository as a stranger finds it: its top level, its pins and its shell scripts."""

import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SETUP = ROOT / "hardware" / "setup.sh"
BASH, GIT = shutil.which("bash") or "bash", shutil.which("git") or "git"
SCRIPTS = sorted({SETUP, ROOT / ".ci" / "run", *(ROOT / "hardware").rglob("*.sh")})
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE",
    "assistant", "models", "configs", "tests", "hardware", "docs",
}  # fmt: skip


def tracked() -> list[str]:
    """Every file under version control; there is none outside a checkout."""
    listed = subprocess.run(
        [GIT, "ls-files"], check=False, capture_output=True, text=True, cwd=ROOT
    )
    if listed.returncode != 0 or not listed.stdout:
        pytest.skip("this is no checkout")
    return listed.stdout.splitlines()


def versions(lines: list[str]) -> dict[str, str]:
    """Package -> pinned version, by normalised name (packaging.python.org, name normalisation)."""
    pinned = [re.fullmatch(r"([\w.-]+)(?:\[[\w,]+\])?==([\w.!+]+)", line) for line in lines]
    assert all(pinned), [line for line, one in zip(lines, pinned, strict=True) if one is None]
    return {re.sub(r"[-_.]+", "-", one[1]).lower(): one[2] for one in pinned if one is not None}


def test_the_top_level_is_what_a_reader_expects() -> None:
    """Two pages, one licence, one project file and six folders; the rest begins with a dot."""
    names = {file.split("/")[0] for file in tracked()}

    assert {name for name in names if not name.startswith(".")} == TOP_LEVEL


def test_every_dependency_is_pinned_alike() -> None:
    """What pyproject.toml asks for stands in the pins with the same version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    own = f"{project['name']}["  # an extra that is made of others
    extras = [one for extra in project["optional-dependencies"].values() for one in extra]
    extras = [one for one in extras if not one.startswith(own)]
    wanted = versions([one.split(";")[0].strip() for one in (*project["dependencies"], *extras)])
    lines = (ROOT / "hardware" / "pins.txt").read_text(encoding="utf-8").splitlines()
    pins = versions([line.rstrip(" \\") for line in lines if "==" in line])

    assert wanted.items() <= pins.items()


def test_the_command_is_installed_by_its_name() -> None:
    """`spoken-brief` is the entry that `python -m assistant` calls too."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]

    assert project["scripts"]["spoken-brief"] == "assistant.commands.main:main"
    assert "assistant.commands.main import main" in (ROOT / "assistant" / "__main__.py").read_text()


@pytest.mark.needs("shellcheck")
def test_the_shell_scripts_are_sound() -> None:
    """shellcheck has nothing to say of any, and each ends at its first fault."""
    checked = subprocess.run(
        ["shellcheck", "--external-sources", *SCRIPTS],  # noqa: S607 - wherever the system has it
        check=False,
        capture_output=True,
        text=True,
        cwd=ROOT,
    )

    assert checked.returncode == 0, checked.stdout + checked.stderr
    careless = [one.name for one in SCRIPTS if "set -euo pipefail" not in one.read_text("utf-8")]
    assert careless == []


def test_setup_refuses_what_it_does_not_know() -> None:
    """One sentence, before anything is installed."""
    refused = subprocess.run(
        [BASH, str(SETUP), "reherse"], check=False, capture_output=True, text=True, cwd=ROOT
    )

    assert (refused.returncode, refused.stdout) == (1, "")
    (sentence,) = refused.stderr.splitlines()
    assert "found 'reherse'; allowed: " in sentence


def test_setup_tells_how_it_is_called() -> None:
    """Without doing anything."""
    told = subprocess.run(
        [BASH, str(SETUP), "--help"], check=True, capture_output=True, text=True, cwd=ROOT
    )

    assert "rehearse" in told.stderr
    assert "test" in told.stderr


def test_the_two_commands_of_the_readme_are_those_that_are_tested() -> None:
    """The README, and what is run on every change, name the same two commands."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")

    for command in ("bash hardware/setup.sh rehearse", "bash hardware/setup.sh test"):
        assert command in readme
        assert command in run
