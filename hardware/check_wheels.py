"""Does every pinned package have a wheel that a Raspberry Pi can install?

    python hardware/check_wheels.py [PACKAGE ...]

Asks the package registry, through pip, about each pin of hardware/pins.txt: is there a wheel for
aarch64 Linux, or one that runs anywhere, for the Python of each release of Raspberry Pi OS, and is
its hash among those that are pinned? It downloads no wheels and installs nothing. Prints a table;
ends with 1 when one is missing. Needs the network, so it is no test.
"""

# ruff: noqa: T201 - a script that prints

import json
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from pinned import pinned

SYSTEMS = {"bookworm": ("3.11", 36), "trixie": ("3.13", 41)}
"""Release: its Python, and the minor version of its glibc 2, which bounds the wheels it can use."""
OLDEST_GLIBC = 17  # manylinux2014
MISSING = "MISSING"


def main(wanted: list[str]) -> int:
    """Print the table and return the exit code."""
    pins = [block for name, block in pinned().items() if not wanted or name in wanted]
    print("| package | " + " | ".join(f"{name}, Python {SYSTEMS[name][0]}" for name in SYSTEMS))
    missing = 0
    for pin in pins:
        found = [wheel_for(pin, *system) for system in SYSTEMS.values()]
        missing += found.count(MISSING)
        print(f"| {version(pin)} | " + " | ".join(found), flush=True)
    print(f"{len(pins)} packages for {len(SYSTEMS)} systems; missing: {missing}")
    return 1 if missing else 0


def version(pin: str) -> str:
    """Its `name==version`, without the hashes."""
    return pin.split(maxsplit=1)[0]


def wheel_for(pin: str, python: str, glibc: int) -> str:
    """The tags of the wheel that pip would take there, if its hash is pinned."""
    platforms = [f"manylinux_2_{minor}_aarch64" for minor in range(glibc, OLDEST_GLIBC - 1, -1)]
    with TemporaryDirectory() as folder:
        report = Path(folder) / "report.json"
        order = [sys.executable, "-m", "pip", "install", "--dry-run", "--quiet", "--no-deps"]
        order += ["--ignore-installed", "--only-binary=:all:", "--implementation", "cp"]
        order += ["--python-version", python, "--target", folder, "--report", str(report)]
        for platform in (*platforms, "manylinux2014_aarch64", "linux_aarch64"):
            order += ["--platform", platform]
        done = subprocess.run([*order, version(pin)], check=False, capture_output=True, text=True)
        if done.returncode:
            if "No matching distribution" not in done.stderr:
                raise SystemExit(f"{version(pin)}: pip could not be asked:\n{done.stderr}")
            return MISSING
        (package,) = json.loads(report.read_text(encoding="utf-8"))["install"]
    if package["download_info"]["archive_info"]["hashes"]["sha256"] not in pin:
        return MISSING
    name = package["download_info"]["url"].rpartition("/")[2]
    return "-".join(name.removesuffix(".whl").split("-")[-3:])


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
