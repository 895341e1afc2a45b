"""Patience: when to ask again, and how often it was asked."""

from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.tags import AWAITING, HELD, STILL_AWAITING

_IN_BETWEEN = (Urgency.SAFETY, Urgency.TIME)


class Patience:
    """Counts how often the question that stands was asked, and when to ask it again."""

    def __init__(self, ask_again_after_s: float, still_held_after_s: float) -> None:
        """How long nobody has to answer a question, and how long to hold, before it is said
        again."""
        self._ask_again_after_s = ask_again_after_s
        self._still_held_after_s = still_held_after_s
        self._due_s: float | None = None
        self._unclear_times = 0
        self.asks_in_a_word = False
        """Whether what is due is to be said in a word: there was an answer, not understood."""
        self.asked_times = 0
        """How often what stands was asked without an answer."""

    def line_ended(self, line: Line, at_s: float) -> None:
        """A line was said to its end, or could not be said: an answer is awaited, or no longer.

        What is said in between ends nothing: what was asked before it is still awaited.
        """
        if line.urgency in _IN_BETWEEN:
            return
        self._due_s = None
        self.asks_in_a_word = False
        if line.tag in AWAITING:
            self._unclear_times = 0
        if line.tag in (*AWAITING, *STILL_AWAITING):
            self.asked_times += line.tag in AWAITING
            self._due_s = at_s + self._ask_again_after_s
        elif line.tag in HELD:
            self._due_s = at_s + self._still_held_after_s

    def line_began(self, line: Line, lasts_s: float) -> None:
        """A line begins. What is about safety, or calls the time, is said in between, and nobody
        could answer meanwhile: the wait is longer by it."""
        if line.urgency in _IN_BETWEEN and self._due_s is not None:
            self._due_s += lasts_s

    @property
    def awaits(self) -> bool:
        """Whether something will be said again if nobody answers."""
        return self._due_s is not None

    def somebody_spoke(self) -> None:
        """Somebody has said something that counts: nothing is awaited until it is asked."""
        self.asked_times = self._unclear_times = 0
        self.asks_in_a_word = False
        self._due_s = None

    def somebody_was_unclear(self, at_s: float) -> None:
        """What may have been the answer was not understood: it is asked for once more from then on,
        the first time in a word."""
        if self._due_s is not None:
            self._due_s = min(self._due_s, at_s)
            self._unclear_times += 1
            self.asks_in_a_word = self._unclear_times == 1

    def count_anew(self) -> None:
        """What stands is asked as if for the first time; what is due stays due."""
        self.asked_times = 0

    def has_run_out(self, at_s: float) -> bool:
        """Whether it is time to ask again; it is true once for each time an answer is awaited."""
        if self._due_s is None or at_s < self._due_s:
            return False
        self._due_s = None
        return True
