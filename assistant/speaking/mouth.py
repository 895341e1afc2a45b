"""The conversation's mouth: one queue of lines, by urgency, pulled block by block."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.speaking.sentences import in_breaths
from assistant.speaking.tags import Tag
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
    tag: Tag
    """What kind of line it is, for the record and for those who react to it."""
    item: str | None = None
    urgency: Urgency = Urgency.ANSWER
    until_s: float = math.inf
    """On the case's clock; what has not begun by then is not true any more, and not said."""


@dataclass(frozen=True, slots=True)
class CutLine:
    """A line that was not said to its end."""

    line: Line
    rest: Line
    """The same from the beginning of the breath in which it was cut."""
    lasts_s: float
    """Of its sound, from the first sample to the last."""
    left_s: float
    """Of that, what nobody has heard."""


@dataclass(slots=True)
class _Speech:
    """A line that is being said, breath by breath."""

    line: Line
    breaths: list[tuple[str, Samples]]
    """Those that have not been said to their end; of the first one, `said` samples have."""
    lasts: int
    """Samples of the whole line."""
    said: int = 0

    @property
    def left(self) -> int:
        """Samples to its end."""
        return sum(len(sound) for _, sound in self.breaths) - self.said

    def cut(self) -> CutLine:
        """What is left of it."""
        rest = replace(self.line, text=" ".join(text for text, _ in self.breaths))
        return CutLine(self.line, rest, self.lasts / RATE_HZ, self.left / RATE_HZ)


class Mouth:
    """Lines in, sound out.

    Whoever plays the sound pulls it; `on_start` is called before the first sample of a line
    leaves, so that the record has it before anybody hears it. A line for which the voice gives no
    sound is left out, and `on_failed` is told of it and why: the next one may come out.

    With `breathes` a long line is said in breaths: after each but the last the mouth is held, and
    whoever listens lets it `go_on`.
    """

    def __init__(
        self,
        voice: Voice,
        on_start: Callable[[Line], None],
        on_end: Callable[[Line], None],
        on_failed: Callable[[Line, str], None],
        *,
        breathes: bool = False,
    ) -> None:
        self._voice = voice
        self._on_start = on_start
        self._on_end = on_end
        self._on_failed = on_failed
        self._breathes = breathes
        self._waiting: list[Line] = []
        self._speech: _Speech | None = None
        self._held = False

    def say(self, line: Line) -> None:
        """Queue a line behind those at least as urgent."""
        self._waiting.append(line)
        self._waiting.sort(key=lambda waiting: waiting.urgency)  # stable: order within an urgency

    def say_first(self, line: Line) -> None:
        """Queue a line before all others."""
        self._waiting.insert(0, line)

    def give_way(self) -> CutLine | None:
        """Fall silent until `go_on`, and forget what is being said: it is returned."""
        self._held = True
        return self._cut()

    def cut_short(self) -> CutLine | None:
        """Stop at once, and forget what waits; what is about safety is said all the same.

        Returns the line that was being said, if one was.
        """
        self.forget(lambda line: line.urgency is not Urgency.SAFETY)
        if self._speech is None or self._speech.line.urgency is Urgency.SAFETY:
            return None
        return self._cut()

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
        return self._speech is not None or bool(self._waiting)

    @property
    def held(self) -> bool:
        """Whether it is silent until it may go on."""
        return self._held

    @property
    def speaks(self) -> bool:
        """Whether it makes a sound with the next samples, or begins to."""
        return self.busy and not self._held

    @property
    def takes_breath(self) -> bool:
        """Whether it is silent in the middle of a line."""
        return self._speech is not None and self._held

    @property
    def has_safety_to_say(self) -> bool:
        """Whether something about safety waits."""
        return any(line.urgency is Urgency.SAFETY for line in self._waiting)

    @property
    def about_to_ask(self) -> bool:
        """Whether it is between two lines, and the next one asks the next item."""
        between = self._speech is None and not self._held and bool(self._waiting)
        return between and self._waiting[0].urgency is Urgency.ASK

    def left_s(self, breath_s: float) -> float:
        """How long what is being said still lasts, in s, with breaths that last so long each."""
        if self._speech is None:
            return 0.0
        return self._speech.left / RATE_HZ + (len(self._speech.breaths) - 1) * breath_s

    def pull(self, samples: int) -> Samples:
        """The next samples of what is being said, shape (samples,); silence when nothing is."""
        block = np.zeros(samples, dtype=np.int16)
        if self._held:
            return block
        if self._speech is None and self._waiting:
            self._begin(self._waiting.pop(0))
        if self._speech is not None:
            piece = self._next_piece(self._speech, samples)
            block[: len(piece)] = piece
        return block

    def _next_piece(self, speech: _Speech, samples: int) -> Samples:
        sound = speech.breaths[0][1]
        piece = sound[speech.said : speech.said + samples]
        speech.said += len(piece)
        if speech.said < len(sound):
            return piece
        del speech.breaths[0]
        speech.said = 0
        if not speech.breaths:
            self._speech = None
            self._on_end(speech.line)
        else:
            self._held = True
        return piece

    def _cut(self) -> CutLine | None:
        speech, self._speech = self._speech, None
        return None if speech is None else speech.cut()

    def _begin(self, line: Line) -> None:
        texts = in_breaths(line.text) if self._breathes else [line.text]
        try:
            breaths = [(text, self._voice.render(text)) for text in texts]
        except Exception as fault:  # noqa: BLE001 - whatever a synthesiser's runtime may raise
            self._on_failed(line, str(fault))
            return
        self._speech = _Speech(line, breaths, sum(len(sound) for _, sound in breaths))
        self._on_start(line)
