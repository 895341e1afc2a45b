"""When the child says that a phrase is done: with a stand-in for pyttsx3's engine."""

import threading
from collections.abc import Callable
from typing import Any

import pytest

from assistant.speaking.espeak_child import Speaker


class Engine:
    """A stand-in for pyttsx3's engine, whose utterances end as the test wants and when it wants."""

    def __init__(self) -> None:
        self.orders: list[tuple[str, str]] = []
        self.loops = 0
        self.on_run: Callable[[], None] = lambda: None
        self._told: dict[str, Callable[..., None]] = {}

    def connect(self, topic: str, told: Callable[..., None]) -> None:
        self._told[topic] = told

    def save_to_file(self, text: str, path: str) -> None:
        self.orders.append((text, path))

    def runAndWait(self) -> None:  # noqa: N802 - pyttsx3's own name
        self.loops += 1
        self.on_run()

    def tell(self, topic: str, **about: Any) -> None:
        """What pyttsx3 would tell whoever is connected."""
        self._told[topic](name=None, **about)


@pytest.fixture
def engine() -> Engine:
    return Engine()


def test_the_first_loop_has_no_text(engine: Engine) -> None:
    """It would end before the text has."""
    Speaker(engine)
    assert (engine.loops, engine.orders) == (1, [])


def test_a_phrase_is_done_when_it_has_ended_and_not_when_the_loop_has(engine: Engine) -> None:
    """The loop may end early; the end of the utterance comes from espeak-ng's own thread."""
    speaker = Speaker(engine)
    done: list[bool] = []
    thread = threading.Thread(target=lambda: done.append(speaker.speak("Going on.", "a.wav")))
    thread.start()
    thread.join(0.3)
    assert (thread.is_alive(), engine.orders) == (True, [("Going on.", "a.wav")])

    engine.tell("finished-utterance", completed=True)
    thread.join(5.0)
    assert done == [True]


def test_what_was_broken_off_or_failed_is_not_done(engine: Engine) -> None:
    """Nor is the phrase after it taken for done because of the one before."""
    speaker = Speaker(engine)
    ends = {
        "whole": lambda: engine.tell("finished-utterance", completed=True),
        "broken off": lambda: engine.tell("finished-utterance", completed=False),
        "failed": lambda: engine.tell("error", exception=RuntimeError("no")),
    }
    for before, end_before in ends.items():
        for how, end in ends.items():
            engine.on_run = end_before
            speaker.speak("Before.", "a.wav")
            engine.on_run = end
            assert speaker.speak("After.", "b.wav") == (how == "whole"), (before, how)
