"""The fixed states of a case and the events that lead from one to the next.

Items are data; these few states are all there is to the machine. docs/states.md is drawn from
this table.
"""

from enum import Enum
from typing import NamedTuple

from assistant.speaking.wording import Facts, Questions


class State(Enum):
    """Where a case is."""

    OPENED = "opened"
    """A new case: no weight, no answers, nothing asked."""
    ASKING = "asking"
    """Stepping through the items of a phase."""
    CHECKING = "checking"
    """An answer was read back and awaits a yes or no."""
    QUOTING = "quoting"
    """A dose question awaits a yes or no: to its drug and weight, or to what must be excluded."""
    STATING = "stating"
    """A fact about the patient was read back and awaits a yes or no; or its digits are awaited."""
    MIXING = "mixing"
    """A recipe is read out, step by step; each awaits a yes."""
    HELD = "held"
    """Silent until resumed."""
    CLOSING = "closing"
    """Whether to end the case was asked back."""
    READY = "ready"
    """The items of a phase are done; the next attempt has not begun."""
    ATTEMPTING = "attempting"
    """An attempt runs, with its clock."""
    ENDED = "ended"


class Step(NamedTuple):
    """An event and the states between which it leads; `back` is where the aside was begun."""

    event: str
    sources: tuple[State, ...]
    dest: State | None
    """None: the state stays; the event only changes what is known."""
    back: bool = False
    """One of several ways back: taken when the aside was begun in `dest`."""


S = State
_LIVE = tuple(state for state in State if state is not S.ENDED)
_PLAIN = (S.OPENED, S.ASKING, S.READY, S.ATTEMPTING)
"""The states in which an aside (a dose question, a fact, a hold, an end) may begin and to which it
returns."""
ASIDES = (S.QUOTING, S.STATING, S.MIXING, S.HELD, S.CLOSING)
ASIDE_EVENTS = ("dose-queried", "fact-heard", "mix-begun", "held", "closing")
"""Each begins an aside; one that interrupts another goes back to where that was begun."""
_SPEAKING = (*_PLAIN, S.CHECKING, S.QUOTING, S.STATING, S.MIXING)
"""Where somebody may ask or tell something."""
_WAITING = (S.CHECKING, S.QUOTING, S.STATING, S.MIXING, S.HELD)


def _back(event: str, source: State) -> tuple[Step, ...]:
    return tuple(Step(event, (source,), dest, back=True) for dest in _PLAIN)


STEPS: tuple[Step, ...] = (
    # The items.
    Step("asked", (S.OPENED, S.ASKING, S.READY), S.ASKING),
    Step("value-heard", (S.ASKING, S.CHECKING), S.CHECKING),
    Step("value-refused", (S.CHECKING,), S.ASKING),
    Step("answered", (S.ASKING, S.CHECKING), S.ASKING),
    Step("deferred", (S.ASKING, S.CHECKING), S.ASKING),
    Step("reopened", (S.ASKING, S.CHECKING, S.READY), S.ASKING),
    Step("phase-done", (S.ASKING,), S.READY),
    Step("went-now", (S.OPENED, S.ASKING, *_WAITING), S.READY),
    # A dose question.
    Step("dose-queried", _SPEAKING, S.QUOTING),
    Step("dose-check-asked", (S.QUOTING,), S.QUOTING),
    Step("dose-check-passed", (S.QUOTING,), S.QUOTING),
    *_back("dose-told", S.QUOTING),
    *_back("dose-dropped", S.QUOTING),
    # A fact about the patient.
    Step("fact-heard", _SPEAKING, S.STATING),
    *_back("fact-taken", S.STATING),
    *_back("fact-refused", S.STATING),
    # How a drug is mixed.
    Step("mix-begun", _SPEAKING, S.MIXING),
    Step("mix-step", (S.MIXING,), S.MIXING),
    *_back("mix-done", S.MIXING),
    # Holding and ending.
    Step("held", _SPEAKING, S.HELD),
    *_back("resumed", S.HELD),
    Step("closing", (*_SPEAKING, S.HELD), S.CLOSING),
    *_back("kept-open", S.CLOSING),
    Step("ended", (S.CLOSING,), S.ENDED),
    # The attempt.
    Step("attempt-started", (S.READY,), S.ATTEMPTING),
    Step("attempt-failed", (S.ATTEMPTING,), S.READY),
    Step("tube-in", (S.ATTEMPTING,), S.READY),
    # What changes no state.
    Step("clock-started", _LIVE, None),
    Step("clock-ended", _LIVE, None),
    Step("pacing-started", _LIVE, None),
    Step("pacing-stopped", _LIVE, None),
    Step("gave-way", _LIVE, None),
    Step("restarted", _LIVE, None),
)


ANSWER = "answer"
"""Stands in `ALLOWED` for the answers to the item that is being asked."""
DIGITS = "digits"
"""Stands in `ALLOWED` for a number while the digits of one are asked for."""
QUESTIONS = tuple(Questions.model_fields)
FACTS = tuple(Facts.model_fields)

ANY_TIME = (*QUESTIONS, *FACTS)
_ALWAYS = ("repeat", "hold", "stop", "end_case")
_BAG = ("pace", "pace_stop")
_YES_NO = ("confirm", "bare_yes", "decline")
ALLOWED: dict[State, tuple[str, ...]] = {
    S.OPENED: ("start", "go_now", *ANY_TIME, *_ALWAYS),
    S.ASKING: (ANSWER, "why", "back", "left", "go_now", *_BAG, *ANY_TIME, *_ALWAYS),
    S.CHECKING: (ANSWER, *_YES_NO, "back", "go_now", *ANY_TIME, *_ALWAYS),
    S.QUOTING: (*_YES_NO, "go_now", *ANY_TIME, *_ALWAYS),
    S.STATING: (*_YES_NO, DIGITS, "go_now", *ANY_TIME, *_ALWAYS),
    S.MIXING: (*_YES_NO, "go_now", *ANY_TIME, *_ALWAYS),
    S.HELD: ("resume", "go_now", "end_case"),
    S.CLOSING: (*_YES_NO, "repeat"),
    S.READY: (
        *("start", "attempt_start", "drugs_in", "left", "back"),
        *_BAG,
        *ANY_TIME,
        *_ALWAYS,
    ),
    S.ATTEMPTING: ("attempt_failed", "tube_in", "drugs_in", *ANY_TIME, *_ALWAYS),
    S.ENDED: (),
}
"""The meanings that make sense in each state; nothing else is listened for."""
