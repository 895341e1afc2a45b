"""The case as it was before the last word that turned it, for whoever takes that word back.

A word that was said of something else, or misheard, must not leave a team with an attempt that
nobody began or an airway that nobody has.
"""

from copy import deepcopy
from dataclasses import dataclass
from typing import Final

from assistant.brief.clocks import DRUGS_CLOCK
from assistant.brief.events.base import Event
from assistant.brief.events.course import ClockStarted, Entered
from assistant.brief.known import Known
from assistant.brief.phases import Phase
from assistant.brief.states import VITAL_EVENTS, State

TAKEN_BACK_WITHIN_S: Final = 15.0
"""Who did not mean it says so when it is said back. Common practice, no source."""
_ONE_WORD_S: Final = 1.0
"""What follows sooner was led to by the same word."""
_TURNS: Final = (
    *(one for one in VITAL_EVENTS if one != "vital-doubted"),
    *("drug-given", "fact-taken", "feature-told", "pause-passed", "went-now"),
)
_SETTLES: Final = ("answered", "deferred", "reopened", "brief-chosen", "restarted")
"""What is done after it: "no wait" is about that then, and there is a way back to each item."""


@dataclass(frozen=True, slots=True)
class BeforeTurn:
    """What was known, and the state, before such a word; and when it was said, on the case's
    clock."""

    known: Known
    state: State
    at_s: float

    def is_recent(self, now_s: float) -> bool:
        """Whether "no wait" is still about it."""
        return now_s - self.at_s <= TAKEN_BACK_WITHIN_S


def remembered(
    before: BeforeTurn | None, event: Event, known: Known, state: State, at_s: float
) -> BeforeTurn | None:
    """What to remember as that event is about to happen; `before` is what was until now."""
    if event.name in _SETTLES:
        return None
    same_word = before is not None and at_s - before.at_s < _ONE_WORD_S
    if not _turns(event) or same_word:
        return before
    return BeforeTurn(deepcopy(known), state, at_s)


def _turns(event: Event) -> bool:
    drugs = isinstance(event, ClockStarted) and event.clock == DRUGS_CLOCK
    woken = isinstance(event, Entered) and event.phase is Phase.WAKE_UP
    return event.name in _TURNS or drugs or woken
