"""Who says "yes ... but not yet" takes back the yes, also when the next item was asked meanwhile.

The assistant decides after a pause in which people sometimes only think. A "not yet" that begins
soon after an answer, and before anybody can have heard the next question, cannot be an answer to
that one. Half duplex, what begins after the next question does is not heard at all: "no wait" after
it goes back.
"""

from assistant.brief.case import Case
from assistant.brief.item import Standing
from assistant.grammar.readings import Heard, Verdict

SOON_S = 2.0
"""Whoever thinks better of an answer begins within that time after it; common practice, no source.
"""


class SecondThoughts:
    """Remembers the answer that has just settled an item."""

    def __init__(self) -> None:
        self._item: str | None = None
        self._answered_s = 0.0

    def settled(self, heard: Heard, item: str | None, case: Case) -> None:
        """What was heard has just been acted on, while that item was asked."""
        done = item is not None and case.known.items[item].standing is Standing.DONE
        self._item = item if done else None
        self._answered_s = heard.ended_s

    def is_one(self, heard: Heard, case: Case) -> bool:
        """Whether that denies the answer that settled last, with nothing else in between.

        How much was heard of the next question is for the caller to look at.
        """
        reading, trail = heard.reading, case.known.trail
        denies = reading.meaning == "decline" and reading.verdict is Verdict.ACCEPT
        soon = heard.started_s - self._answered_s <= SOON_S
        return denies and soon and self._item is not None and trail[-1:] == [self._item]
