"""No command gives a traceback or waits for ever, whatever is where a file should be."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from assistant.commands import main as command_line
from tests.commands.conftest import Command

LONGEST_S = 20
"""Generous: a busy machine is no fault, and a pipe that is waited for never ends."""
Made = Callable[[Path], Path]
pytestmark = pytest.mark.usefixtures("good_site_once")


def _folder(at: Path) -> Path:
    at.mkdir()
    return at


def _pipe(at: Path) -> Path:
    os.mkfifo(at)
    return at


def _rubbish(at: Path) -> Path:
    at.write_bytes(bytes(range(256)) * 40)
    return at


def _below_a_file(at: Path) -> Path:
    at.write_text("", "utf-8")
    return at / "within"


PLACES: dict[str, Made] = {
    "nothing": lambda at: at,
    "a folder": _folder,
    "a pipe": _pipe,
    "rubbish": _rubbish,
    "within a file": _below_a_file,
}
READ: tuple[tuple[str, ...], ...] = (
    ("rehearse", "PLACE"),
    ("rehearse", "--text", "PLACE"),
    ("rehearse", "--site", "PLACE"),
    ("listen", "--no-watcher", "--site", "PLACE"),
    ("hear", "PLACE"),
    ("hear", "--site", "PLACE", "PLACE"),
    ("watch", "--dry", "--replay", "PLACE"),
    ("watch", "--dry", "--site", "PLACE"),
    ("watch", "--dry", "--port", "PLACE"),
    ("glance", "--site", "PLACE"),
    ("check", "PLACE"),
    ("check", "--site", "PLACE"),
    ("phrases", "--site", "PLACE"),
    ("dose", "rocuronium", "--weight-kg", "70", "--site", "PLACE"),
    ("card", "--weight-kg", "70", "--site", "PLACE"),
    ("debrief", "PLACE"),
    ("debrief", "--json", "PLACE"),
    ("debrief", "--verify", "PLACE"),
    ("debrief", "--aloud", "PLACE"),
    ("debrief", "--ratings", "PLACE", "PLACE"),
    ("debrief", "--scenario", "PLACE", "PLACE"),
    ("mark", "PLACE"),
    ("cases", "--remove", "PLACE"),
    ("models", "import", "PLACE"),
    ("patient", "PLACE"),
)
WRITTEN: tuple[tuple[str, ...], ...] = (
    ("phrases", "--html", "PLACE"),
    ("card", "--weight-kg", "70", "--out", "PLACE"),
)


@pytest.fixture(autouse=True)
def _never_for_ever() -> Iterator[None]:
    def too_long(*_: object) -> None:
        raise AssertionError("it waits for ever")

    before = signal.signal(signal.SIGALRM, too_long)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


@pytest.mark.parametrize("what", PLACES)
def test_what_cannot_be_read_is_refused_in_sentences(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    """Each command that reads something, with something else in its place: exit code 2."""
    for number, words in enumerate(READ):
        if what == "rubbish" and "--replay" in words:
            continue  # bytes with nothing in them are a feed of nothing
        if what in ("nothing", "within a file") and "--port" in words:
            continue  # it may be plugged in later
        place = PLACES[what](tmp_path / f"place-{number}")
        signal.alarm(LONGEST_S)
        called = command(*(str(place) if word == "PLACE" else word for word in words))
        signal.alarm(0)
        assert called.code == command_line.BAD_INPUT, (words, called)
        assert "Traceback" not in called.err
        assert str(tmp_path) in called.err, (words, called.err)


@pytest.mark.parametrize("what", ["a folder", "a pipe", "within a file"])
def test_what_cannot_be_written_is_refused_in_sentences(
    command: Command, tmp_path: Path, what: str
) -> None:
    """Each command that writes a file where it is told to."""
    for number, words in enumerate(WRITTEN):
        place = PLACES[what](tmp_path / f"place-{number}")
        signal.alarm(LONGEST_S)
        called = command(*(str(place) if word == "PLACE" else word for word in words))
        signal.alarm(0)
        assert called.code in (command_line.BAD_INPUT, command_line.MACHINE_FAILED), (words, called)
        assert "Traceback" not in called.err
        assert str(tmp_path) in called.err


@pytest.mark.parametrize(
    ("words", "unbuffered"),
    [
        (("check",), ""),
        (("dose", "rocuronium", "--weight-kg", "70"), "1"),
        (("phrases",), "1"),
        (("dose", "--help"), ""),
    ],
)
def test_whoever_reads_may_have_enough(words: tuple[str, ...], unbuffered: str) -> None:
    """As with `head`: the command ends, without a word and with 0, whenever that is noticed."""
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-m", "assistant", *words],
        stdout=writer,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
        env={**os.environ, "PYTHONUNBUFFERED": unbuffered},
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_full_disk_is_one_sentence_and_its_own_exit_code() -> None:
    """What is printed cannot be: the machine has failed, and not the program."""
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "assistant", "dose", "rocuronium", "--weight-kg", "70"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == command_line.MACHINE_FAILED
    assert done.stderr == "spoken-brief: No space left on device.\n"


def test_a_fault_of_the_program_has_its_own_exit_code(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not that of a case that ended otherwise than expected; and only it has a traceback."""

    def run(_: object) -> int:
        raise IndexError

    monkeypatch.setattr("assistant.commands.dose.run", run)
    called = command("dose", "rocuronium", "--weight-kg", "70")
    assert called.code == command_line.PROGRAM_FAULT
    assert "IndexError" in called.err
