"""The systemd units: that systemd takes them, and what they promise to each other."""

import argparse
import configparser
import importlib
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.commands.main import main

HARDWARE = Path(__file__).parents[2] / "hardware"
UNITS = sorted((HARDWARE / "systemd").glob("*.service"))
GLANCE, LISTEN, SOUND, WATCH = UNITS
MOST_EXPOSED = 15
"""In tenths of systemd's own scale, on which 100 is a service without any bounds."""

ANALYZE = shutil.which("systemd-analyze") or ""
UDEVADM = shutil.which("udevadm") or ""

needs_analyze = pytest.mark.needs("systemd")


def values(unit: Path, key: str) -> list[str]:
    """Every value of a key, in order."""
    return re.findall(rf"^{key}=(.*)$", unit.read_text(encoding="utf-8"), re.MULTILINE)


def value(unit: Path, key: str) -> str:
    """The only value of a key."""
    (only,) = values(unit, key)
    return only


def standing_in(unit: Path, folder: Path) -> Path:
    """The unit with programs that exist on every machine."""
    text = re.sub(r"^(Exec\w+)=\S+", r"\1=/bin/true", unit.read_text(encoding="utf-8"), flags=re.M)
    copy = folder / unit.name
    copy.write_text(text, encoding="utf-8")
    return copy


@needs_analyze
def test_systemd_finds_nothing_to_complain_of(tmp_path: Path) -> None:
    """All units together, with stand-ins for their programs."""
    copies = [str(standing_in(unit, tmp_path)) for unit in UNITS]
    done = subprocess.run(
        [ANALYZE, "verify", "--man=no", *copies],
        capture_output=True,
        text=True,
        check=False,
    )
    ours = [line for line in done.stderr.splitlines() if "spoken-brief" in line]
    assert (done.returncode, ours) == (0, [])


@needs_analyze
@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_a_unit_is_hardly_exposed(unit: Path, tmp_path: Path) -> None:
    """By systemd's own measure of how much a service could reach."""
    order = [ANALYZE, "security", "--offline=true", f"--threshold={MOST_EXPOSED}"]
    done = subprocess.run(
        [*order, "--no-pager", str(standing_in(unit, tmp_path))],
        capture_output=True,
        text=True,
        check=False,
    )
    if "unrecognized option" in done.stderr:
        pytest.skip("this systemd-analyze cannot judge a file")
    assert done.returncode == 0, done.stdout[-400:]


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_no_unit_takes_another_with_it(unit: Path) -> None:
    """Watcher and conversation live and die apart, and neither needs the echo canceller's unit."""
    text = unit.read_text(encoding="utf-8")
    for tie in ("Requires", "Requisite", "BindsTo", "PartOf", "Upholds", "Conflicts", "Wants"):
        assert values(unit, tie) == [], f"{tie}= in {text.splitlines()[0]}"


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_a_unit_comes_back_for_ever(unit: Path) -> None:
    """Restarted whatever ended it, soon, and without a limit after which systemd gives up."""
    assert value(unit, "Restart") == "always"
    assert value(unit, "StartLimitIntervalSec") == "0"
    assert value(unit, "RestartSec") in ("1", "500ms")


@pytest.mark.parametrize("unit", [LISTEN, WATCH], ids=lambda unit: unit.stem)
def test_a_stuck_process_is_restarted(unit: Path) -> None:
    """systemd is told when it is ready, and from then on expects a beat."""
    assert value(unit, "Type") == "notify"
    assert 2 <= int(value(unit, "WatchdogSec")) <= 15


def test_the_watcher_wins() -> None:
    """More of the processor, more of the disk, and the last to be ended for want of memory."""
    assert int(value(WATCH, "Nice")) < 0
    assert values(LISTEN, "Nice") == []
    assert int(value(WATCH, "CPUWeight")) > int(value(LISTEN, "CPUWeight"))
    assert int(value(WATCH, "OOMScoreAdjust")) < 0 < int(value(LISTEN, "OOMScoreAdjust"))


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_nobody_else_reads_a_case(unit: Path) -> None:
    """What the services write, sockets too, lies in folders that only their own user enters."""
    assert value(unit, "RuntimeDirectoryMode") == "0700"
    assert values(unit, "StateDirectoryMode") == ([] if unit == GLANCE else ["0700"])
    assert value(unit, "UMask") == "0077"
    assert value(unit, "User") == "spoken-brief"
    assert value(unit, "LimitCORE") == "0"


def test_the_display_cannot_write_a_case() -> None:
    """The whole file system is read-only to it but for the folder of the sockets."""
    assert value(GLANCE, "ProtectSystem") == "strict"
    for key in ("StateDirectory", "ReadWritePaths", "CacheDirectory"):
        assert values(GLANCE, key) == []


def test_the_display_reaches_this_machine_only() -> None:
    """A browser has to reach it; what it may reach is the loopback."""
    assert value(GLANCE, "IPAddressDeny") == "any"
    assert value(GLANCE, "IPAddressAllow") == "localhost"
    assert value(GLANCE, "RestrictAddressFamilies") == "AF_UNIX AF_INET"


def test_the_display_gives_way_to_both_others() -> None:
    """The last to have the processor, the first to be ended for want of memory."""
    for other in (LISTEN, WATCH):
        assert int(value(GLANCE, "CPUWeight")) < int(value(other, "CPUWeight"))
        assert int(value(GLANCE, "OOMScoreAdjust")) > int(value(other, "OOMScoreAdjust"))


def test_watcher_and_display_mean_the_same_socket() -> None:
    """Where the one tells, the other listens."""
    (told,) = re.findall(r"--glance (\S+)", value(WATCH, "ExecStart"))
    (heard,) = re.findall(r"--watcher (\S+)", value(GLANCE, "ExecStart"))
    assert told == heard


@pytest.mark.parametrize("unit", [LISTEN, SOUND, WATCH], ids=lambda unit: unit.stem)
def test_a_unit_has_no_network(unit: Path) -> None:
    """Everything runs on this machine."""
    assert value(unit, "PrivateNetwork") == "yes"
    assert value(unit, "RestrictAddressFamilies") == "AF_UNIX"


@pytest.mark.parametrize("unit", [GLANCE, LISTEN, WATCH], ids=lambda unit: unit.stem)
def test_the_runtime_reports_to_nobody(unit: Path) -> None:
    """onnxruntime 1.32 looks for its makers' server by default; this variable keeps it from it."""
    assert "ORT_DISABLE_TELEMETRY=1" in values(unit, "Environment")


ASKS_THE_CLOCK = {"adjtimex", "clock_adjtime"}
"""systemd has them among @clock, and so among @privileged."""


def clock_calls(unit: Path) -> set[str]:
    """Which of these its filter lets through: the first line is a list of what may be done, and
    each later one adds to it, or with a ~ takes away."""
    left: set[str] = set()
    for line in values(unit, "SystemCallFilter"):
        names = set(line.removeprefix("~").split())
        meant = ASKS_THE_CLOCK if names & {"@privileged", "@clock"} else names & ASKS_THE_CLOCK
        left = left - meant if line.startswith("~") else left | meant
    return left


@pytest.mark.parametrize("unit", [LISTEN, SOUND, WATCH], ids=lambda unit: unit.stem)
def test_a_unit_may_ask_whether_the_clock_is_synchronised(unit: Path) -> None:
    """The record's trust in the wall clock comes from adjtimex, which a usual filter forbids."""
    assert clock_calls(unit) == ASKS_THE_CLOCK
    assert values(unit, "ProtectClock") == []


def test_the_modules_of_all_device_classes_are_loaded_first() -> None:
    """systemd looks a device class up when the service starts; unknown then is forbidden later."""
    modules = (HARDWARE / "systemd" / "modules-load.conf").read_text(encoding="utf-8").split("\n")
    of_class = {
        "char-alsa": "snd-usb-audio",
        "char-ttyUSB": "usbserial",
        "char-ttyACM": "cdc-acm",
        "char-gpiochip": None,  # in the kernel itself
    }
    for unit in UNITS:
        for allowed in values(unit, "DeviceAllow"):
            module = of_class[allowed.split()[0]]
            assert module is None or module in modules


def test_only_who_needs_a_device_has_it() -> None:
    """The conversation has no serial port, the watcher no pins."""
    assert "tty" not in " ".join(values(LISTEN, "DeviceAllow"))
    assert "gpio" not in " ".join(values(WATCH, "DeviceAllow"))


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.stem)
def test_a_unit_is_a_well_formed_file(unit: Path) -> None:
    """Three sections, in lines that systemd does not have to guess at."""
    reader = configparser.RawConfigParser(strict=False, allow_no_value=False)
    reader.read(unit, encoding="utf-8")
    assert reader.sections() == ["Unit", "Service", "Install"]


def test_the_oximeter_is_where_the_example_site_looks_for_it() -> None:
    """The udev rule gives the name that the example's oximeter.yaml has, so both fit as shipped."""
    rules = (HARDWARE / "udev" / "85-spoken-brief.rules").read_text(encoding="utf-8")
    (name,) = set(re.findall(r'SYMLINK\+="([^"]+)"', rules))
    site = Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml"
    assert f"\nport: /dev/{name}\n" in site.read_text(encoding="utf-8")


@pytest.mark.needs("udev")
def test_udev_takes_the_rules() -> None:
    """By udev's own checker, where it has one."""
    done = subprocess.run(
        [UDEVADM, "verify", "--no-style", str(HARDWARE / "udev" / "85-spoken-brief.rules")],
        capture_output=True,
        text=True,
        check=False,
    )
    if "Unknown command" in done.stderr + done.stdout or "unknown command" in done.stderr:
        pytest.skip("this udevadm cannot verify (it came with systemd 254)")
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("unit", [GLANCE, LISTEN, WATCH], ids=lambda unit: unit.stem)
def test_the_program_takes_the_unit_s_own_line(unit: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The options that a unit gives are options that its command has."""
    words = value(unit, "ExecStart").split()
    command = importlib.import_module(f"assistant.commands.{words[1]}")
    taken: list[argparse.Namespace] = []
    monkeypatch.setattr(command, "run", lambda arguments: taken.append(arguments) or 0)
    assert main(words[1:]) == 0
    assert taken[0].site == Path("/etc/spoken-brief/site")


OPEN_SOUND = """
import ctypes, ctypes.util, sys
alsa = ctypes.CDLL(ctypes.util.find_library("asound"))
pcm = ctypes.c_void_p()
for stream in (0, 1):  # to play, to record
    print(alsa.snd_pcm_open(ctypes.byref(pcm), b"spoken_brief", stream, 1))
"""


@pytest.mark.needs("libasound2-plugins")
@pytest.mark.parametrize("card", ["brief", "othercard"])
def test_the_shared_card_is_understood_by_alsa(card: str) -> None:
    """ALSA reads the file, and fails only because there is no card of the name that was set."""
    done = subprocess.run(
        [sys.executable, "-c", OPEN_SOUND],
        env={
            **os.environ,
            "ALSA_CONFIG_PATH": str(HARDWARE / "sound" / "shared.conf"),
            "SPOKEN_BRIEF_LOUDSPEAKER_CARD": card,
        },
        capture_output=True,
        text=True,
        check=True,
    )
    no_such_device = "-19"
    assert done.stdout.split() == [no_such_device] * 2
    assert done.stderr.count(f"Cannot get card index for {card}") == 2


@pytest.mark.needs("libasound2-plugins")
def test_without_the_echo_cancellers_server_opening_fails() -> None:
    """A call must never go into nothing as if it had been spoken."""
    done = subprocess.run(
        [sys.executable, "-c", OPEN_SOUND],
        env={**os.environ, "ALSA_CONFIG_PATH": str(HARDWARE / "sound" / "echo.conf")},
        capture_output=True,
        text=True,
        check=True,
    )
    assert all(int(code) < 0 for code in done.stdout.split())
    assert "Connection refused" in done.stderr
