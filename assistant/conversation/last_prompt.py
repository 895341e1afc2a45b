"""What counts as an answer to the question that stands.

Nothing answers a question that was never spoken. Where the echo is cancelled people may speak
while the assistant does: a question may then be answered before its end, as people do; what was
read back may be refused before its end, but confirmed only by somebody who has heard all of it.
"""

import math
from collections.abc import Collection
from typing import Final

from assistant.brief.meanings import ANSWERS
from assistant.grammar.readings import Heard, Verdict
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import in_breaths
from assistant.speaking.tags import AWAITING, Tag

UNDERSTOOD_S = 0.6
"""A voice that begins sooner after the question does answers something else."""
LAST_WORDS_S = 2.0
"""Where people may interrupt, a plain yes counts over the last words of a question: whoever says it
knows a short call by its beginning, but not what has been left out of a plan."""
_OPEN_ANEW: Final[tuple[Tag, ...]] = ("waiting", "again")
"""Lines after which the question before them may be answered as if it had just been asked."""
OUTSIDE: Final = "a plain yes outside the answer window"
SHORT_S = 1.6
"""An answer that was begun too early is no longer than this; what is longer is talk."""

ANSWER_S = 2.5
"""An answer that was not understood is asked for again if it was no longer than this. Common
practice, no source."""


class LastPrompt:
    """Knows how much has been heard of the question that stands."""

    def __init__(self, answer_window_s: float, takes_back: Collection[str] = ()) -> None:
        """A plain yes answers only when it begins within `answer_window_s` after the question.

        `takes_back`: the words that are about the question before, and need none.
        """
        self._answer_window_s = answer_window_s
        self._takes_back = frozenset(takes_back)
        self._line: Line | None = None
        self._began_s: float | None = None
        self._lasts_s = 0.0
        self._ended_s: float | None = None
        self._never_spoken = False
        self._asked_back = False
        self._called_s = math.inf
        self.given_up = False
        """Whether nothing is said any more until somebody answers."""

    def queued(self, line: Line) -> None:
        """A line is to be said; a question makes the one before it void."""
        if line.tag in AWAITING:
            self._line, self._began_s, self._ended_s = line, None, None
            self.given_up = False

    def began(self, line: Line, at_s: float, lasts_s: float) -> None:
        """Its first sample leaves, and the last one so much later."""
        if line.tag in AWAITING:
            self._line, self._began_s, self._ended_s = line, at_s, None
            self._lasts_s = lasts_s
            self._never_spoken = self._asked_back = False
            self._called_s = math.inf

    def ended(self, line: Line, at_s: float) -> None:
        """It has been said to its end.

        A request to say that again opens the window anew; "Marked." does not, as nobody would take
        it for the question again.
        """
        if line is self._line or line.tag in _OPEN_ANEW:
            self._ended_s = at_s
            self._called_s = math.inf
        self.given_up |= line.tag == "waiting"

    def failed(self, line: Line) -> None:
        """The voice gave no sound for it."""
        self._never_spoken |= line.tag in AWAITING

    def called(self, at_s: float) -> None:
        """The watcher calls from then on: a plain yes after that may be about the call."""
        self._called_s = min(at_s, self._called_s)

    def objection(self, heard: Heard, *, may_interrupt: bool, speaking: bool) -> str:
        """Why that is no answer to it, or "" when nothing speaks against that.

        `speaking`: the assistant still speaks. What is then not heard surely counts for nothing.
        """
        reading = heard.reading
        if self._never_spoken and reading.meaning in ANSWERS:
            return "the question was never spoken"
        if may_interrupt and speaking and reading.verdict is not Verdict.ACCEPT:
            return f"while it spoke, {reading.why}"
        if may_interrupt and not self.is_answered_by(heard):
            return "before the question had been heard"
        if reading.meaning == "plain_yes" and not self._in_window(heard):
            return OUTSIDE
        return ""

    def _in_window(self, heard: Heard) -> bool:
        if heard.started_s >= self._called_s:
            return False
        if self._ended_s is not None:
            return heard.started_s <= self._ended_s + self._answer_window_s
        if self._line is None or self._line.tag != "ask" or self._began_s is None:
            return False
        return heard.started_s >= self._began_s + self._lasts_s - LAST_WORDS_S

    def is_just_over(self, heard: Heard) -> bool:
        """Whether that short sound lay over the end of the question; true once for each."""
        if self._ended_s is None or self._asked_back:
            return False
        lasted_s = heard.ended_s - heard.started_s
        over = heard.started_s - self._ended_s < UNDERSTOOD_S and lasted_s <= SHORT_S
        self._asked_back = over
        return over

    def may_be_answered_by(self, heard: Heard) -> bool:
        """Whether that sound came when an answer to the question was awaited, and was as short."""
        if self._ended_s is None or self.given_up or heard.started_s >= self._called_s:
            return False
        after_s, lasted_s = heard.started_s - self._ended_s, heard.ended_s - heard.started_s
        return 0 <= after_s <= self._answer_window_s and lasted_s <= ANSWER_S

    def is_answered_by(self, heard: Heard) -> bool:
        """Whether enough of the question had been said when somebody began to say that.

        Whatever is no answer to it, such as "stop", needs no question.
        """
        meaning = heard.reading.meaning
        if meaning not in ANSWERS or heard.reading.text in self._takes_back or self._line is None:
            return True
        if self._began_s is None or heard.started_s < self._began_s + UNDERSTOOD_S:
            return False
        is_long = len(in_breaths(self._line.text)) > 1  # nobody agrees to the first half of a plan
        if meaning == "decline" or (self._line.tag == "ask" and not is_long):
            return True
        return self._ended_s is not None and heard.started_s >= self._ended_s
