"""What a page shows of the brief item by item: each asking, and what nobody came to."""

from collections.abc import Iterator
from typing import Any

from assistant.brief.items import AnyItem
from assistant.debrief.findings import Measures
from assistant.debrief.loops import Loop
from assistant.debrief.measured_lines import WAITING
from assistant.debrief.page_view import View
from assistant.debrief.timeline import Timeline
from assistant.debrief.times import clock, short_time

_MARKS = {
    "left open": "open",
    "not answered": "open",
    "put off": "put-off",
    "denied": "put-off",
    "overtaken": "",
}
_OPEN = ("open", "put-off")
"""Marks of an asking that says by itself that the item was open after it."""
_PHASES = {"before": "", "after": ", after the tube"}


def askings_by_person(timeline: Timeline, measures: Measures) -> list[View]:
    """The askings of each section, and what was told unasked of what it asks for."""
    groups: list[View] = []
    sections = () if timeline.brief is None else timeline.brief.sections
    for section in sections:
        askings = [one for item in section.items for one in _askings(item, measures)]
        if askings:
            phase = section.phase.value.replace("-", " ")
            name = f"{section.to}{_PHASES.get(phase, f', {phase}')}"
            groups.append({"name": name, "askings": askings})
    return groups


def left_open(timeline: Timeline, measures: Measures) -> list[View]:
    """The items that came up and were open at the end, by their short names, each once; and those
    that only waited for their clock."""
    brief, items = timeline.brief, measures.items
    if brief is None or items is None:
        return []
    kinds = (("Left open", items.left_open), (WAITING, items.waiting))
    return [
        {"how": how, "items": list(dict.fromkeys(brief.item(item).label for item in open_still))}
        for how, open_still in kinds
        if open_still
    ]


def not_come_to(timeline: Timeline, measures: Measures) -> list[View]:
    """By phase, the items that nobody asked and nobody told of, by their short names."""
    brief, items = timeline.brief, measures.items
    if brief is None or items is None:
        return []
    return [
        {"when": one.when, "items": [brief.item(item).label for item in one.items]}
        for one in items.not_come_to
    ]


def overtaken(timeline: Timeline, measures: Measures) -> list[str]:
    """What the course of the case left behind, each with what came instead."""
    brief, items = timeline.brief, measures.items
    if brief is None or items is None:
        return []
    return [f"{brief.item(one.item).label} (by {one.by})" for one in items.overtaken]


def _askings(item: AnyItem, measures: Measures) -> list[View]:
    """In the order of time; the last one says so when the item is open at the end."""
    found: list[dict[str, Any]] = []
    for number, one in enumerate(one for one in measures.loops if one.item == item.id):
        mark = _MARKS.get(one.outcome, "closed" if one.at_first_asking else "later")
        asking = {
            "mark": mark,
            "label": item.label if number == 0 else f"{item.label}, again",
            "became": _became(one),
            "at_s": one.asked_at_s,
            "to_answer": short_time(one.to_answer_s),
            "to_settling": short_time(one.to_settling_s),
            "remark": "; ".join(_remarks(one)),
        }
        found.append(asking)
    for told in (one for one in measures.told_unasked if one.item == item.id):
        found.append(
            {
                "mark": "",
                "label": f"{item.label}, told besides",
                "became": told.answer,
                "at_s": told.at_s,
                "to_answer": "",
                "to_settling": "",
                "remark": "",
            }
        )
    found.sort(key=lambda one: one["at_s"])
    open_still = measures.items is not None and item.id in measures.items.outstanding
    if found and open_still and found[-1]["mark"] not in _OPEN:
        waits = measures.items is not None and item.id in measures.items.waiting
        found[-1]["became"] += "; its clock ran at the end" if waits else "; open at the end"
    return [one | {"at": clock(one["at_s"])} for one in found]


def _became(loop: Loop) -> str:
    if loop.overtaken_by is not None:
        return f"overtaken by {loop.overtaken_by}"
    return loop.answer or loop.outcome if loop.outcome == "closed" else loop.outcome


def _remarks(loop: Loop) -> Iterator[str]:
    if loop.times_asked > 1:
        yield f"question said {loop.times_asked} times"
    if loop.doubted and loop.read_back is not None:
        yield f"read back, “{loop.read_back}”: not understood for sure at once"
    elif loop.doubted:
        yield "not understood for sure at once"
    for text in loop.mismatched:
        yield f"did not match: “{text}”"
    if loop.talked_over:
        yield "room talk meanwhile"
    if loop.taken_back:
        yield "taken back later"
