"""The case as it was before the last word that turned it, for whoever takes that word back.

A word that was said of something else, or misheard, must not leave a team with an attempt that
nobody began or an airway that nobody has.
"""

from copy import deepcopy
from dataclasses import dataclass
from typing import Final

from assistant.brief.clocks import ARREST_CLOCK, DRUGS_CLOCK
from assistant.brief.events.base import Event
from assistant.brief.events.course import ClockEnded, ClockStarted, Entered
from assistant.brief.known import Known
from assistant.brief.phases import Phase
from assistant.brief.states import VITAL_EVENTS, State

TAKEN_BACK_WITHIN_S: Final = 25.0
"""Who did not mean it says so when it is said back, which takes ten seconds where a plan is told.
Common practice, no source."""
IN_AN_ATTEMPT_S: Final = 8.0
"""Who looks says "no wait" to a helper, too."""
_ONE_WORD_S: Final = 1.0
"""What follows sooner was led to by the same word."""
_TURNS: Final = (
    *(one for one in VITAL_EVENTS if one not in ("wave-due", "vital-doubted")),
    *("drug-given", "fact-taken", "feature-told", "pause-passed", "went-now", "undone"),
    *("dose-queried", "dose-check-passed", "dose-told"),
)


@dataclass(frozen=True, slots=True)
class BeforeTurn:
    """What was known, and the state, before such a word; and when it was said, on the case's
    clock."""

    known: Known
    state: State
    at_s: float

    def is_recent(self, now_s: float, state: State) -> bool:
        """Whether "no wait", said in that state, may still be about it."""
        within_s = IN_AN_ATTEMPT_S if state is State.ATTEMPTING else TAKEN_BACK_WITHIN_S
        return now_s - self.at_s <= within_s


@dataclass(frozen=True, slots=True)
class Turn:
    """What turned the case: how that was before, and the words; none of a yes to a read-back."""

    before: BeforeTurn
    words: str
    answered: str | None = None
    """The item whose answer led to it, as a weight does to the dose that waited for it."""


def remembered(
    before: BeforeTurn | None, event: Event, known: Known, state: State, at_s: float
) -> BeforeTurn | None:
    """What to remember as that event is about to happen; `before` is what was until now."""
    same_word = before is not None and at_s - before.at_s < _ONE_WORD_S
    if not _turns(event) or same_word:
        return before
    return BeforeTurn(deepcopy(known), state, at_s)


def _turns(event: Event) -> bool:
    drugs = isinstance(event, ClockStarted) and event.clock == DRUGS_CLOCK
    woken = isinstance(event, Entered) and event.phase is Phase.WAKE_UP
    pulse = isinstance(event, ClockEnded) and event.clock == ARREST_CLOCK
    return event.name in _TURNS or drugs or woken or pulse
