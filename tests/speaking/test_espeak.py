"""espeak-ng in its child process: cut renderings, killed and hanging children, other processes."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples
from assistant.errors import BadInput
from assistant.speaking import espeak
from assistant.speaking.espeak import Espeak

ROOT = Path(__file__).parents[2]
TEXT = "Left open for now."


def children() -> list[int]:
    """This process's children that speak."""
    found = []
    for task in Path("/proc/self/task").iterdir():
        with suppress(OSError):  # a thread or a child that has just ended
            for child in (task / "children").read_text().split():
                if b"assistant.speaking.espeak" in Path(f"/proc/{child}/cmdline").read_bytes():
                    found.append(int(child))
    return found


@pytest.fixture
def voice() -> Espeak:
    """A voice whose child has been started."""
    started = Espeak("en-us", 165, 50)
    started.render("Ready.")
    return started


class Staged(Espeak):
    """A stand-in for the fault of pyttsx3, which comes too seldom to wait for: cut renderings."""

    def __init__(self, *lengths: int) -> None:
        super().__init__("en-us", 165, 50)
        self._lengths = iter(lengths)

    def _once(self, text: str) -> Samples:
        return np.ones(next(self._lengths), dtype=np.int16)


def test_every_rendering_is_whole(voice: Espeak) -> None:
    """The same text many times: all of one length, none cut short."""
    lengths = [len(voice.render(TEXT)) for _ in range(12)]

    assert min(lengths) > 0.8 * RATE_HZ
    assert max(lengths) - min(lengths) <= 2 * espeak.SAME_WITHIN_SAMPLES


@pytest.mark.parametrize(
    "lengths",
    [
        (16_000, 16_000),
        (9_000, 16_000, 16_000),
        (0, 16_000, 0, 16_000),
        (0, 0, 0, 16_000, 16_010),
        (16_000, 9_000, 4_000, 16_000),
    ],
)
def test_a_rendering_counts_once_another_agrees(lengths: tuple[int, ...]) -> None:
    """Whatever is cut short or empty is never what is heard."""
    assert len(Staged(*lengths).render(TEXT)) in (16_000, 16_010)


def test_it_does_not_speak_when_no_two_agree() -> None:
    """A sentence, instead of a question of which half is missing."""
    with pytest.raises(BadInput, match=r"did not speak 'Left open for now\.' twice alike"):
        Staged(*range(1_000, 16_001, 1_000)).render(TEXT)
    with pytest.raises(BadInput, match="twice alike"):
        Staged(*[0] * 16).render(TEXT)


def test_a_child_that_was_killed_is_started_again(voice: Espeak) -> None:
    """The next phrase is spoken by another child, also while the old one is still dying."""
    for _ in range(8):
        before = children()
        for child in before:
            os.kill(child, signal.SIGKILL)

        assert len(voice.render(TEXT)) > 0.8 * RATE_HZ
        assert len(children()) == 1
        assert not set(children()) & set(before)


def test_a_child_that_hangs_costs_one_phrase_a_wait(
    voice: Espeak, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the deadline it is killed, and another one speaks."""
    monkeypatch.setattr(espeak, "DEADLINE_S", 5.0)
    before = children()
    for child in before:
        os.kill(child, signal.SIGSTOP)

    assert len(voice.render(TEXT)) > 0.8 * RATE_HZ
    assert before
    assert not set(children()) & set(before)


def test_phrases_are_never_swapped_or_cut(voice: Espeak) -> None:
    """Long and short by turns, each has its own length, though none is rendered twice."""
    short_s, long_s = [], []
    for _ in range(30):
        short_s.append(len(voice._once("No.")) / RATE_HZ)
        long_s.append(len(voice._once("Left open for now, and it is asked again.")) / RATE_HZ)

    assert 2 * max(short_s) < min(long_s)
    assert max(short_s) - min(short_s) < 0.2
    assert max(long_s) - min(long_s) < 0.2


def test_an_order_that_cannot_be_done_is_refused_and_the_next_one_is_done(voice: Espeak) -> None:
    """An unknown voice ends nothing."""
    with pytest.raises(BadInput, match="espeak-ng has no voice 'nobody'"):
        Espeak("nobody", 165, 50).render(TEXT)

    assert len(voice.render(TEXT)) > 0.8 * RATE_HZ


@pytest.fixture
def parent() -> Iterator[subprocess.Popen[str]]:
    """Another process, with a child of its own that speaks."""
    code = (
        "import time; from assistant.speaking.espeak import Espeak; "
        "Espeak('en-us', 165, 50).render('Ready.'); print('spoke', flush=True); time.sleep(60)"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, cwd=ROOT
    )
    yield process
    process.kill()
    process.communicate()


def test_the_child_ends_with_its_parent(parent: subprocess.Popen[str]) -> None:
    """Also when that one is killed: nothing is left behind."""
    assert parent.stdout is not None
    assert parent.stdout.readline() == "spoke\n"
    (child,) = Path(f"/proc/{parent.pid}/task/{parent.pid}/children").read_text().split()
    parent.kill()
    parent.wait()

    until_s = time.monotonic() + 20
    while Path(f"/proc/{child}/cmdline").exists() and time.monotonic() < until_s:
        if Path(f"/proc/{child}/cmdline").read_bytes() == b"":
            break  # ended; whoever adopted it has not asked for its exit code yet
        time.sleep(0.05)
    assert time.monotonic() < until_s
