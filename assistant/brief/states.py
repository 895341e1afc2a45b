"""The states of a case, a row each: what is heard there, what a yes does, and where events lead.

Items are data; these few states are all there is to the machine. `transitions` runs this table, and
docs/states.md is drawn from it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Final

from assistant.brief.confirmed_items import YES_NO
from assistant.speaking.may_be_said import Facts, Questions
from assistant.speaking.vital_words import VitalWords


class State(Enum):
    """Where a case is; `STATES` says what goes on there."""

    OPENED = "opened"
    ASKING = "asking"
    CHECKING = "checking"
    QUOTING = "quoting"
    STATING = "stating"
    MIXING = "mixing"
    HELD = "held"
    DOUBTING = "doubting"
    IDENTIFYING = "identifying"
    CLOSING = "closing"
    PAUSING = "pausing"
    READY = "ready"
    ATTEMPTING = "attempting"
    ENDED = "ended"


ANSWER = "answer"
"""Stands in `hears` for the answers to the item that is being asked."""
LATE = "late"
"""Stands in `hears` for the answers to items that are not asked just now: those that were put off
and have been seen to since, and a choice that comes before its question."""
NOT_SO = "not_so"
"""The meaning of what denies the item before, which was said to be so, in that item's own words."""
UNDONE = "undone"
"""The meaning of what says that an item is so no more, however long ago it was said to be."""
INSTEAD = "instead"
"""The meaning of "no, the consultant": another answer to the item before, of those to choose
from; at the pause, to the one for which somebody was named last."""
DIGITS = "digits"
"""Stands in `hears` for a number while the digits of one are asked for, or one is read back."""
QUESTIONS: Final = (*Questions.model_fields, "first_steps")
FACTS: Final = (*Facts.model_fields, "feature_told", "feature_denied")
ANY_TIME: Final = (*QUESTIONS, *FACTS)
"""What may be asked or told while nothing else is going on."""
VITAL: Final = tuple(VitalWords.model_fields)
"""What a case turns on: heard in every state that has not ended."""
COMMANDS_IN_DOUBT: Final = ("go_now", "hold", "stop", "end_case", "start", "left", "why")
"""What is asked back by its words, as a vital word is, when it was heard unsurely twice."""
BACK = "back"
"""Leads to where the aside was begun."""
HOLD_OVER = "hold over"
"""Leads to where the hold was begun."""
DOUBTED = "doubted"
"""Leads to where the word was heard that was asked back."""
CUT_SHORT = "cut short"
"""Leads to where the case was when whether it is still the same patient was asked."""
LAID_ASIDE = "laid aside"
"""Leads to the aside that a vital word interrupted."""
Leads = Mapping[str, State | str]
"""The next state, by the name of the event; or one of the five above."""


@dataclass(frozen=True, slots=True)
class StateRow:
    """One state."""

    about: str
    """What goes on, for people."""
    hears: tuple[str, ...]
    """The meanings that make sense here; nothing else is listened for."""
    leads: Leads = field(default_factory=dict)
    """The events that may happen here besides those that change no state."""
    yes: str = ""
    """What the caller does at a confirmation; empty where none is awaited."""
    no: str = ""
    """The same at a decline."""
    waits: tuple[str, ...] = ()
    """Of those, what counts only later: whoever says it is asked what stands."""
    in_place: tuple[str, ...] = ()
    """Of those, what comes in place of a command that is asked back, or is that one once more."""
    reads_back: bool = False
    """Whoever says "no wait" means what was read back: it is a no."""
    aside: bool = False
    """It goes back to where it was begun."""
    comes_back: bool = False
    """What was read back, asked or read out here is taken up again after a vital word; an answer to
    an item only after the wave, which leaves it as open as it was."""

    def act(self, meaning: str) -> str:
        """What the caller does at what was said: the meaning itself, but for a yes and a no."""
        does = {"confirm": self.yes, "plain_yes": self.yes, "decline": self.no}
        if self.reads_back:
            does["back"] = self.no
        does.update(dict.fromkeys(self.waits, "ask_what_stands"))
        does.update(dict.fromkeys(self.in_place, "command_in_doubt"))
        return does.get(meaning, meaning)


_ALWAYS = (
    *("drug_given", "repeat", "hold", "stop", "end_case", "new_case", "help", "short_form"),
    *("long_form", "pulse_back", "wave_in_doubt", "mark"),
)
_IN_A_HOLD = (
    *("drug_given", "repeat", "stop", "end_case", "new_case", "help", "pulse_back"),
    *("wave_in_doubt", "mark"),
)
_BAG = ("pace", "pace_stop")
_BRANCH = ("wake_up",)
_OF_THE_CASE = ("start", "brief", "go_now", "go_ahead", "resume", "left", "help")
"""Said to a case that goes on."""
S = State
ASIDES: Leads = {
    "dose-queried": S.QUOTING,
    "fact-heard": S.STATING,
    "mix-begun": S.MIXING,
    "held": S.HELD,
    "closing": S.CLOSING,
}
"""Each begins an aside; one that interrupts another goes back to where that was begun."""
_ITEMS: Leads = {"asked": S.ASKING, "reopened": S.ASKING, "undone": S.ASKING}
_SETTLED: Leads = {
    "value-heard": S.CHECKING,
    "answered": S.ASKING,
    "deferred": S.ASKING,
    "feature-told": S.ASKING,
}
_DONE: Leads = {"phase-done": S.READY}
"""Also where nothing was asked: somebody says to begin, and all is answered already."""
_GO_NOW: Leads = {"went-now": S.READY}
VITAL_LEADS: Leads = {
    "attempt-started": S.ATTEMPTING,
    "attempt-failed": S.READY,
    "tube-in": S.READY,
    "tube-out": S.READY,
    "cannot-oxygenate": S.READY,
    "rescue-started": S.READY,
    "rescue-in": S.READY,
    "neck-open": S.READY,
    "arrest": S.HELD,
    "wave-due": S.READY,
    "vital-doubted": S.DOUBTING,
}
"""From wherever the case is: nothing else is waited for."""
VITAL_EVENTS: Final = tuple(VITAL_LEADS)
_ENTERED: Leads = {"entered": S.READY}
_TAKEN_UP: Leads = {"taken-up": LAID_ASIDE}
_AWAY: Leads = {**_GO_NOW, **ASIDES, **VITAL_LEADS, **_ENTERED}
"""From what is asked, read back or told to whatever is said instead of an answer."""
STATES: Final[Mapping[State, StateRow]] = {
    S.OPENED: StateRow(
        "A new case: no weight, no answers, nothing asked yet.",
        hears=("start", "brief", "go_now", *VITAL, *_BRANCH, *_BAG, *ANY_TIME, *_ALWAYS),
        leads={"asked": S.ASKING, **_DONE, **_AWAY, **_TAKEN_UP},
    ),
    S.ASKING: StateRow(
        "The items of a phase are asked, one after the other. While only clocks still run, it "
        "waits here for the first of them to end.",
        hears=(
            *(ANSWER, LATE, *VITAL, *_BRANCH, "why", "back", "left", "brief", "go_now"),
            *(*_BAG, *ANY_TIME, *_ALWAYS),
        ),
        leads={**_ITEMS, **_SETTLED, **_DONE, **_AWAY, **_TAKEN_UP},
        yes="answer_item",
        no="put_off_item",
    ),
    S.CHECKING: StateRow(
        "An answer was read back and counts only after a yes.",
        hears=(
            *(ANSWER, *YES_NO, *VITAL, *_BRANCH, "back", "left", "brief", "go_now"),
            *(*ANY_TIME, *_ALWAYS),
        ),
        leads={
            **_SETTLED,
            "value-refused": S.ASKING,
            "reopened": S.ASKING,
            "undone": S.ASKING,
            **_AWAY,
        },
        yes="take_value",
        no="refuse_value",
        reads_back=True,
        comes_back=True,
    ),
    S.QUOTING: StateRow(
        "A drug and a weight were read back, or what bars the drug was asked; no dose is spoken "
        "before a yes.",
        hears=(
            *(*YES_NO, "excluded", DIGITS, *VITAL, *_BRANCH, "back", "left", "go_now"),
            *(*ANY_TIME, *_ALWAYS),
        ),
        leads={
            "dose-check-asked": S.QUOTING,
            "dose-check-passed": S.QUOTING,
            "dose-told": BACK,
            "dose-dropped": BACK,
            **_AWAY,
        },
        yes="confirm_dose_question",
        no="drop_dose_question",
        reads_back=True,
        aside=True,
        comes_back=True,
    ),
    S.STATING: StateRow(
        "A fact about the patient was read back and counts only after a yes; or the digits of a "
        "number are awaited.",
        hears=(*YES_NO, DIGITS, *VITAL, *_BRANCH, "back", "left", "go_now", *ANY_TIME, *_ALWAYS),
        leads={"fact-taken": BACK, "fact-refused": BACK, **_AWAY},
        yes="take_fact",
        no="refuse_fact",
        reads_back=True,
        aside=True,
        comes_back=True,
    ),
    S.MIXING: StateRow(
        "A recipe is read out; the next step comes after a yes.",
        hears=(*YES_NO, *VITAL, *_BRANCH, "left", "go_now", *ANY_TIME, *_ALWAYS),
        leads={"mix-step": S.MIXING, "mix-done": BACK, **_AWAY},
        yes="mix_next_step",
        no="mix_wait",
        aside=True,
        comes_back=True,
    ),
    S.HELD: StateRow(
        "Nothing is asked until somebody says to go on. Clocks run, the watcher still calls, and "
        "whoever asks or tells something is answered.",
        hears=("resume", *VITAL, *_BRANCH, "left", "back", "go_now", *ANY_TIME, *_IN_A_HOLD),
        leads={"resumed": HOLD_OVER, **ASIDES, **_GO_NOW, **VITAL_LEADS, **_ENTERED},
        aside=True,
    ),
    S.DOUBTING: StateRow(
        "A vital word was heard and not for sure: it was asked back, and counts after a yes.",
        hears=(
            *(*VITAL, "denied", "wave_there", *YES_NO, "back", "repeat", "pulse_back", "mark"),
            *("drug_given", *_BRANCH, *COMMANDS_IN_DOUBT),
        ),
        leads={"doubt-settled": DOUBTED, "vital-doubted": S.DOUBTING},
        yes="take_vital_word",
        no="drop_vital_word",
        in_place=COMMANDS_IN_DOUBT,
        reads_back=True,
    ),
    S.IDENTIFYING: StateRow(
        "The case was cut short, and goes on after a while: whether it is still the same patient "
        "is asked first. A no leads to whether that case is over; then a new one is opened.",
        hears=(
            *(
                *YES_NO,
                "same_patient",
                "another_patient",
                "new_case",
                *VITAL,
                "drug_given",
                "repeat",
                "pulse_back",
                "wave_in_doubt",
            ),
            *("end_case", "mark", *_OF_THE_CASE, *_BRANCH, *ANY_TIME),
        ),
        leads={"patient-settled": CUT_SHORT, "ended": S.ENDED, "vital-doubted": S.DOUBTING},
        yes="same_patient",
        no="end_case",
        waits=(*_OF_THE_CASE, *_BRANCH, *ANY_TIME),
    ),
    S.CLOSING: StateRow(
        "Whether the case is over was asked back.",
        hears=(
            *(*YES_NO, *VITAL, "drug_given", "back", "repeat", "pulse_back", "mark"),
            *("resume", "left"),
        ),
        leads={"kept-open": BACK, "ended": S.ENDED, **VITAL_LEADS},
        yes="close_case",
        no="keep_case_open",
        waits=("resume", "left"),
        reads_back=True,
        aside=True,
    ),
    S.PAUSING: StateRow(
        "The pause before the drugs: all was summed up, and it goes on only by a clear word.",
        hears=(
            *("go_ahead", *YES_NO, LATE, *VITAL, "back", "left", "brief", "go_now"),
            *(*ANY_TIME, *_ALWAYS),
        ),
        leads={
            **_ITEMS,
            **_GO_NOW,
            **ASIDES,
            **VITAL_LEADS,
            **_TAKEN_UP,
            "pause-passed": S.READY,
            "deferred": S.PAUSING,
        },
        yes="pass_pause",
        no="ask_what_is_open",
    ),
    S.READY: StateRow(
        "The items of a phase are done or left open. Before the tube is in, the next attempt may "
        "begin.",
        hears=(
            *("start", "brief", LATE, *VITAL, *_BRANCH, "left", "back"),
            *(*_BAG, *ANY_TIME, *_ALWAYS),
        ),
        leads={
            **_ITEMS,
            **_DONE,
            **ASIDES,
            **VITAL_LEADS,
            **_TAKEN_UP,
            **_ENTERED,
            "pause-begun": S.PAUSING,
        },
    ),
    S.ATTEMPTING: StateRow(
        "An attempt runs, with its clock. Nothing is asked, and hardly anything is listened for: "
        "what is said to helpers is not for the caller, and a long answer would leave it deaf.",
        hears=(
            *(*VITAL, "attempt_in_doubt", "wave_in_doubt", "drug_given"),
            *("saturation", "elapsed", "pulse_back", "back"),
        ),
        # Asides are not begun here any more, but stand in records of earlier versions.
        leads={**ASIDES, **VITAL_LEADS},
    ),
    S.ENDED: StateRow("The record is complete; nothing is listened for any more.", hears=()),
}
FROM_ANYWHERE: Final[Mapping[str, State]] = {"patient-doubted": S.IDENTIFYING}
"""Events that may happen in every state that has not ended."""
STAYING: Final = (
    *("clock-started", "clock-ended", "pacing-started", "pacing-stopped"),
    *("gave-way", "restarted", "form-chosen", "brief-chosen"),
    *(
        "time-called",
        "drug-given",
        "dose-awaited",
        "no-dose-awaited",
        "doses-outdated",
        "figure-outside",
        "figure-disputed",
    ),
    *("gaps-told", "mark"),
    "taken-back",
)
"""Events that change no state, but for a word that is taken back, which leads to where it was said;
they may happen in every state that has not ended."""
