"""What a page lists of a case: everything said, and a facilitator's marks."""

from assistant.debrief.entries import TimelineEntry
from assistant.debrief.marks import marks_of
from assistant.debrief.page_view import View
from assistant.debrief.report import Shown, told_text
from assistant.debrief.timeline import Timeline
from assistant.debrief.times import clock, fine_clock
from assistant.debrief.wall_times import wall_times

LONG_ROWS = 500
"""From so many rows on only what matters is printed: more take a browser minutes."""
_LESS = (
    *("asked", "value-heard", "fact-heard", "dose-queried", "dose-check-asked", "gave-way"),
    *("time-called", "vital-doubted", "doubt-settled", "form-chosen", "closing", "kept-open"),
)
"""Events that lead to what matters, and are not it."""
_WHO = {"talk": "room talk", "step": "decided"}


def marks(timeline: Timeline) -> list[View]:
    """What the facilitator marked."""
    return [
        {
            "at": clock(one.at_s),
            "kind": one.meaning or "mark",
            "as": marked_as(one),
            "text": told_text(one),
        }
        for one in marks_of(timeline)
    ]


def marked_as(one: TimelineEntry) -> str:
    """The kind of a mark, in words."""
    return (one.meaning or "mark").replace("-", " ")


def said(timeline: Timeline) -> list[View]:
    """Everything on record in one list."""
    shown, walls = Shown(timeline), wall_times(timeline.entries)
    return [
        {
            "wall": wall,
            "matters": _matters(one),
            "kind": kind,
            "mark": "other" if kind == "team" and one.voice == "other" else kind,
            "who": ", ".join(filter(None, (_WHO.get(kind, one.who), one.voice))),
            "at": fine_clock(one.at_s),
            "text": _words(one, kind),
            "spo2": shown.at(one.at_s),
        }
        for one, wall in zip(timeline.entries, walls, strict=True)
        for kind in [_kind(one)]
    ]


def _matters(one: TimelineEntry) -> bool:
    """Whether it stands on paper also where the list is long: calls, marks, and what happened, but
    for what is only asked and said of it."""
    if one.who in ("watcher", "facilitator"):
        return True
    return one.kind == "event" and one.meaning not in _LESS


def _kind(one: TimelineEntry) -> str:
    if one.kind == "ignored":
        return "talk"
    if one.kind == "event" and one.who not in ("watcher", "clock", "facilitator"):
        return "step"
    return one.who


def _words(one: TimelineEntry, kind: str) -> str:
    if kind == "facilitator":
        return ": ".join(filter(None, (marked_as(one), told_text(one))))
    return told_text(one) if kind != "talk" else f"{told_text(one)[1:-1]}"
