"""The tags of lines: what kind each line is, for the record and for those who react to it.

Each stands here once, by what comes after such a line; mypy takes no other for one. Records have
them: a name stays as it is.
"""

from typing import Final, Literal, get_args

Awaiting = Literal[
    "ask",
    "say-how",
    "read-back",
    "yes",
    "digits",
    "quote",
    "check",
    "mix",
    "closing",
    "doubt",
    "same-patient",
    "pause",
]
"""The assistant waits for an answer."""
StillAwaiting = Literal["again", "marked"]
"""It still waits for the answer to what it asked before."""
Held = Literal["held", "stopped"]
"""It waits for nothing but to be told to go on; it may say once more that it holds."""
Answering = Literal[
    "dose",
    "dose-refused",
    "dose-dropped",
    "maximum",
    "drug-absent",
    "no-weight",
    "no-age",
    "no-dose",
    "told",
    "elapsed",
    "who",
    "plan",
    "patient",
    "given",
    "handover",
    "worse",
    "first-steps",
    "left",
    "why",
    "help",
]
"""Somebody's question is answered, and may be answered once more for who did not catch it."""
Safety = Literal[
    "call", "watcher-lost", "watcher-back", "record-lost", "sound-kept", "not-spoken", "note"
]
"""A call, or something about the assistant itself; what is being asked stays open."""
Remark = Literal[
    "opened",
    "ready",
    "restarted",
    "record-unread",
    "brief",
    "form",
    "reminded",
    "waiting",
    "resumed",
    "ended",
    "kept-open",
    "noted",
    "refused",
    "deferred",
    "outstanding",
    "if-not",
    "not-wanted",
    "not-back",
    "bag-on",
    "out-of-range",
    "pounds",
    "weight-again",
    "taken-back",
    "no-way-back",
    "phase-done",
    "gaps",
    "went-now",
    "clock",
    "clock-left",
    "time",
    "doses-changed",
    "told-allergy",
    "given-allergy",
    "given-weight",
    "drug-given",
    "drugs-in",
    "mix-none",
    "mix-not-yet",
    "mix-done",
    "attempt-started",
    "attempt-runs",
    "attempt-failed",
    "low-saturation",
    "tube-in",
    "tube-out",
    "no-wave",
    "pacing",
    "arrest",
    "pulse-back",
    "cannot-oxygenate",
    "cannot-ventilate",
    "rescue-start",
    "rescue-in",
    "neck-open",
    "wake-up",
]
"""None of these: what comes next does not go by the line."""
Tag = Literal[Awaiting, StillAwaiting, Held, Answering, Safety, Remark]

AWAITING: Final[tuple[Awaiting, ...]] = get_args(Awaiting)
STILL_AWAITING: Final[tuple[StillAwaiting, ...]] = get_args(StillAwaiting)
HELD: Final[tuple[Held, ...]] = get_args(Held)
ANSWERING: Final[tuple[Answering, ...]] = get_args(Answering)
