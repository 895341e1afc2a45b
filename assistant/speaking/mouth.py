"""The conversation's mouth: one queue of lines, by urgency, pulled block by block."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.speaking.voices import Voice


class Urgency(IntEnum):
    """What goes first."""

    SAFETY = 0
    """The record is lost, nobody watches."""
    TIME = 1
    """How long something has taken; what is being asked stays open meanwhile."""
    ANSWER = 2
    """A reply to what somebody has just said."""
    ASK = 3
    """The next item."""


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to say."""

    text: str
    tag: str
    """What kind of line it is, for those who react to it: `ask`, `read-back`, `again` …"""
    item: str | None = None
    urgency: Urgency = Urgency.ANSWER
    until_s: float = math.inf
    """On the case's clock; what has not begun by then is not true any more, and not said."""


class Mouth:
    """Lines in, sound out.

    Whoever plays the sound pulls it; `on_start` is called before the first sample of a line
    leaves, so that the record has it before anybody hears it. A line for which the voice gives no
    sound is left out, and `on_failed` is told of it and why: the next one may come out.
    """

    def __init__(
        self,
        voice: Voice,
        on_start: Callable[[Line], None],
        on_end: Callable[[Line], None],
        on_failed: Callable[[Line, str], None],
    ) -> None:
        self._voice = voice
        self._on_start = on_start
        self._on_end = on_end
        self._on_failed = on_failed
        self._waiting: list[Line] = []
        self._speaking: Line | None = None
        self._held = False
        self._rest: Samples = np.zeros(0, dtype=np.int16)

    def say(self, line: Line) -> None:
        """Queue a line behind those at least as urgent."""
        self._waiting.append(line)
        self._waiting.sort(key=lambda waiting: waiting.urgency)  # stable: order within an urgency

    def give_way(self) -> None:
        """Fall silent until `go_on`; what is cut short will be said from its beginning."""
        if self._speaking is not None:
            self._waiting.insert(0, self._speaking)
        self._speaking = None
        self._held = True

    def cut_short(self) -> Line | None:
        """Stop at once, and forget what waits; what is about safety is said all the same.

        Returns the line that was being said, if one was.
        """
        self.forget(lambda line: line.urgency is not Urgency.SAFETY)
        cut = self._speaking
        if cut is None or cut.urgency is Urgency.SAFETY:
            return None
        self._speaking = None
        return cut

    def go_on(self) -> None:
        """Speak again."""
        self._held = False

    def forget(self, void: Callable[[Line], bool]) -> list[Line]:
        """Leave out of what waits whatever is `void`, and return it; what is being said goes on."""
        gone = [line for line in self._waiting if void(line)]
        self._waiting = [line for line in self._waiting if line not in gone]
        return gone

    @property
    def busy(self) -> bool:
        """Whether it speaks or has something to say."""
        return self._speaking is not None or bool(self._waiting)

    @property
    def about_to_ask(self) -> bool:
        """Whether it is between two lines, and the next one asks the next item."""
        between = self._speaking is None and not self._held and bool(self._waiting)
        return between and self._waiting[0].urgency is Urgency.ASK

    @property
    def left_s(self) -> float:
        """How long what is being said still lasts, in s."""
        return len(self._rest) / RATE_HZ

    def pull(self, samples: int) -> Samples:
        """The next samples of what is being said, shape (samples,); silence when nothing is."""
        block = np.zeros(samples, dtype=np.int16)
        if self._speaking is None and self._waiting and not self._held:
            self._begin(self._waiting.pop(0))
        if self._speaking is not None:
            piece, self._rest = self._rest[:samples], self._rest[samples:]
            block[: len(piece)] = piece
            if not len(self._rest):
                ended, self._speaking = self._speaking, None
                self._on_end(ended)
        return block

    def _begin(self, line: Line) -> None:
        try:
            self._rest = self._voice.render(line.text)
        except Exception as fault:  # noqa: BLE001 - whatever a synthesiser's runtime may raise
            self._on_failed(line, str(fault))
            return
        self._speaking = line
        self._on_start(line)
