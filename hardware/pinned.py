"""Prints those pins, with their hashes, that the project needs with some of its extras.

    python hardware/pinned.py [EXTRA ...] >FILE
    pip install --require-hashes --no-deps --requirement FILE

They are taken from hardware/pins.txt, where it also stands who needs each package. `--build` prints
what the project, and the few packages that come as their source, are built with: install it first.
"""

# ruff: noqa: T201 - a script that prints

import re
import sys
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

PINS = Path(__file__).with_name("pins.txt")
PROJECT = Path(__file__).parents[1] / "pyproject.toml"


def main(wanted: list[str]) -> int:
    """Print them and return the exit code."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))
    pins = pinned()
    needed = {name_of(line) for line in project["build-system"]["requires"]}
    if wanted != ["--build"]:
        needed |= direct(project["project"], wanted)
    missing = needed - pins.keys()
    if missing:
        raise SystemExit(f"{PINS}: found no {', '.join(sorted(missing))}; see DEVELOPERS.md")
    for name in sorted(with_theirs(needed, pins)):
        print(pins[name])
    return 0


def pinned() -> dict[str, str]:
    """Each package by its name, and its lines: version, hashes, `# via` whom it comes."""
    blocks = re.split(r"\n(?=\w)", "\n" + PINS.read_text(encoding="utf-8").strip())
    return {name_of(block): block for block in blocks if "==" in block}


def direct(project: dict[str, Any], extras: Iterable[str]) -> set[str]:
    """What the project names itself, or one of these extras, or an extra that such a one names."""
    found = {name_of(line) for line in project["dependencies"]}
    offered = project["optional-dependencies"]
    for extra in extras:
        if extra not in offered:
            raise SystemExit(f"found the extra {extra!r}; allowed: {', '.join(sorted(offered))}")
        for line in offered[extra]:
            if name_of(line) == project["name"]:
                found |= direct(project, line.partition("[")[2].rstrip("]").split(","))
            else:
                found.add(name_of(line))
    return found


def with_theirs(needed: set[str], pins: dict[str, str]) -> set[str]:
    """These and all that they need in turn."""
    while True:
        theirs = {name for name, block in pins.items() if needed & via(block)} - needed
        if not theirs:
            return needed
        needed = needed | theirs


def via(block: str) -> set[str]:
    """Who needs the package of that block."""
    told = block.partition("# via")[2].replace("#", " ")
    return {name_of(word) for word in told.split()}


def name_of(requirement: str) -> str:
    """A package's name as the registry normalises it."""
    name = re.split(r"[^\w.-]", requirement, maxsplit=1)[0]
    return re.sub(r"[-_.]+", "-", name).lower()


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
