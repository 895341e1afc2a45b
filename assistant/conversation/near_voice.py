"""Whether a plain yes is an answer, from its situation: when it came, and from how near.

"Yes" is said all day in such a room. It counts as an answer when somebody says it soon after the
question, about as loud as whoever has been speaking to the assistant, in a room that is not too
loud to tell.
"""

from collections import deque
from statistics import median
from typing import Literal

from assistant.grammar.readings import Heard

FAINTER_DB = 5.0
"""So much softer than this case's other answers, somebody else has spoken, farther away: twice the
distance is 6 dB in the open, and less in a room that reverberates. No near one of 1,227 answers by
eight voices that tune was so much softer than their median."""
LEAST_ABOVE_NOISE_DB = 9.0
"""In a louder room a plain yes is read back."""
REMEMBERED = 9
Nearness = Literal["near", "other", "unknown"]
"""Whose an utterance was, as far as loudness tells; nobody is told from anybody else."""


class NearVoice:
    """Learns in each case how loud those are who speak to the assistant."""

    def __init__(self) -> None:
        self._levels_dbfs: deque[float] = deque(maxlen=REMEMBERED)

    def learn(self, heard: Heard) -> None:
        """Something that was surely said to the assistant: whole phrases, not a lone word."""
        if heard.level_dbfs is not None and " " in heard.reading.text:
            self._levels_dbfs.append(heard.level_dbfs)

    def doubt(self, heard: Heard) -> str:
        """Why a plain yes has to be read back, for the record; "" when nothing is against it."""
        if heard.level_dbfs is None:
            return ""
        if self.is_farther_away(heard):
            return "fainter than those who have answered before"
        above_db = _above_noise_db(heard, heard.level_dbfs)
        if above_db < LEAST_ABOVE_NOISE_DB:
            return f"a plain yes, only {above_db:.0f} dB above the room"
        return ""

    def whose(self, heard: Heard) -> Nearness:
        """Near or other; unknown before anybody has answered, and in a room too loud to tell."""
        level_dbfs = heard.level_dbfs
        if level_dbfs is None or not self._levels_dbfs:
            return "unknown"
        if self.is_farther_away(heard):
            return "other"
        loud = _above_noise_db(heard, level_dbfs) < LEAST_ABOVE_NOISE_DB
        return "unknown" if loud else "near"

    def is_farther_away(self, heard: Heard) -> bool:
        """Whether somebody spoke from farther away than those who have answered before."""
        level_dbfs = heard.level_dbfs
        if level_dbfs is None or not self._levels_dbfs:
            return False
        return level_dbfs < median(self._levels_dbfs) - FAINTER_DB


def _above_noise_db(heard: Heard, level_dbfs: float) -> float:
    return level_dbfs - (-96.0 if heard.noise_dbfs is None else heard.noise_dbfs)
