"""The lanes of a case's drawing: who spoke when, what ran, and when each item was settled."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any

from assistant.debrief.entries import TimelineEntry
from assistant.debrief.findings import Measures
from assistant.debrief.loops import Loop
from assistant.debrief.marks import marks_of
from assistant.debrief.spans import joined
from assistant.debrief.timeline import Timeline

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, QUIET, PAPER = "#26221d", "#857c70", "#fffdf8"
ASSISTANT, TEAM, WATCHER, CLOCK = "#2f6b62", "#3b2a4d", "#b4621a", "#54708f"
LEAST_S = 0.6
"""A word that is drawn shorter could not be seen."""
LONG_S, FINEST = 1800.0, 1500
"""A case that lasts longer is drawn in so many parts of its length, and no finer."""
MARKS = {"call-out": ">", "check-back": "<", "closed": "o", "steered": "*"}
"""How the facilitator's marks are drawn; every other one is a wedge."""


@dataclass(frozen=True, slots=True)
class Shape:
    """How wide the drawing is, and what that leaves room for."""

    width_in: float
    lane_in: float
    curve_in: float
    font_pt: float
    ticks: int
    """How many times are written below it, at most."""
    beside: bool
    """The lanes' names stand beside them, else above."""


WIDE = Shape(10.6, 0.30, 1.7, 8.5, 14, beside=True)
NARROW = Shape(4.3, 0.46, 1.4, 8.0, 6, beside=False)


@dataclass(frozen=True, slots=True)
class Lane:
    """Stretches of one kind."""

    name: str
    bars: Sequence[tuple[float, float]]
    """From … and how long, in s."""
    style: dict[str, Any]
    words: Sequence[str] = ()
    """One for each bar, written in it where there is room."""


def lanes_of(timeline: Timeline, measures: Measures) -> list[Lane]:
    """The lanes of a case, from above."""
    return [
        *_said(timeline, measures.duration_s),
        *_not_listening(timeline),
        *_ran(timeline, measures),
    ]


def _said(timeline: Timeline, whole_s: float) -> Iterator[Lane]:
    hollow = {"facecolor": PAPER, "edgecolor": ASSISTANT, "linewidth": 1.1}
    yield Lane("Assistant", _bars(timeline.entries, "assistant", "said", whole_s), hollow)
    solid = {"facecolor": TEAM, "edgecolor": TEAM, "linewidth": 0.3}
    yield Lane("Team, heard", _bars(timeline.entries, "team", "heard", whole_s), solid)
    hatched = {"facecolor": PAPER, "edgecolor": QUIET, "hatch": "//////", "linewidth": 0.6}
    yield Lane("Room talk", _bars(timeline.entries, "team", "ignored", whole_s), hatched)


def _not_listening(timeline: Timeline) -> Iterator[Lane]:
    """From the last that is on record until the program ran again; across a restart of the machine
    nobody knows how long that was."""
    bars = [
        (one.at_s, LEAST_S) if one.rebooted else (one.since_s, one.at_s - one.since_s)
        for one in timeline.restarts
    ]
    if bars:
        crossed = {"facecolor": PAPER, "edgecolor": INK, "hatch": "xxxx", "linewidth": 0.8}
        yield Lane("Not listening", bars, crossed)


def _known_until(timeline: Timeline, measures: Measures, started_s: float) -> float:
    """Until when what was started then was known to run, where its end is not on record."""
    reboots = (one.at_s for one in timeline.restarts if one.rebooted and one.at_s > started_s)
    return max(min(reboots, default=measures.duration_s), started_s + LEAST_S)


def _ran(timeline: Timeline, measures: Measures) -> Iterator[Lane]:
    stretches = [(one.name, one.span) for one in measures.stretches]
    if measures.brief_at_s is not None:
        name = "brief, broken off" if measures.brief_broken_off else "brief"
        stretches.append((name, measures.brief_at_s))
    for one in measures.attempts:
        end_s = _known_until(timeline, measures, one.started_at_s)
        if one.lasted_s is not None:
            end_s = one.started_at_s + one.lasted_s
        stretches.append((f"attempt {one.number}", (one.started_at_s, end_s)))
    stretches.sort(key=lambda one: one[1][0] - one[1][1])  # what is within another is seen on it
    if stretches:
        dotted = {"facecolor": "#e9e2d3", "edgecolor": INK, "linewidth": 0.8}
        bars = [(begin, end - begin) for _, (begin, end) in stretches]
        yield Lane("Course", bars, dotted, [name for name, _ in stretches])
    thin = {"facecolor": CLOCK, "edgecolor": CLOCK, "linewidth": 0, "alpha": 0.85}
    for name in dict.fromkeys(one.name for one in measures.clocks):
        ends = [
            (
                one.started_at_s,
                _known_until(timeline, measures, one.started_at_s) - one.started_at_s
                if one.lasted_s is None
                else one.lasted_s,
            )
            for one in measures.clocks
            if one.name == name
        ]
        yield Lane(f"Clock: {name}", ends, thin)


def _bars(
    entries: Iterable[TimelineEntry], who: str, kind: str, whole_s: float
) -> list[tuple[float, float]]:
    """Two with less between them than could be seen are drawn as one: a browser prints thousands of
    them for minutes."""
    unseen_s = whole_s / FINEST
    spans = [
        (one.at_s, one.at_s + max(one.lasts_s or 0.0, LEAST_S) + unseen_s)
        for one in entries
        if one.who == who and one.kind == kind and one.at_s is not None
    ]
    seen = spans if whole_s < LONG_S else joined(spans)
    return [(begin, end - unseen_s - begin) for begin, end in seen]


def write_lanes(
    axes: "Axes", lanes: Sequence[Lane], timeline: Timeline, measures: Measures, shape: Shape
) -> None:
    """Write the lanes, one below the other, between the watcher's calls and the items."""
    marked = bool(marks_of(timeline))
    names = ["Watcher's calls", *(lane.name for lane in lanes), "Items"]
    names += ["Expected"] * bool(measures.expected) + ["Facilitator"] * marked
    places = range(len(names), 0, -1)
    axes.set_ylim(0.4, len(names) + (0.6 if shape.beside else 0.9))
    for lane, place in zip(lanes, places[1 : 1 + len(lanes)], strict=True):
        thick = 0.16 if lane.name.startswith("Clock") else 0.5
        axes.broken_barh(lane.bars, (place - thick / 2, thick), **lane.style)
        for begin, lasts in lane.bars if lane.name.startswith("Clock") else ():
            axes.plot([begin, begin + lasts], [place, place], "|", color=CLOCK, ms=7, mew=1.4)
        for number, word in enumerate(labels(lane, shape, measures.duration_s)):
            begin, lasts = _free(lane.bars, number)
            axes.text(begin + lasts / 2, place - 0.02, word, ha="center", va="center", clip_on=True)
    _calls(axes, timeline, measures, places[0])
    _items(axes, measures.loops, places[1 + len(lanes)])
    _expected(axes, measures, places[2 + len(lanes)] if measures.expected else 0)
    if marked:
        _marks(axes, timeline, places[-1])
    if shape.beside:
        axes.set_yticks(places, names)
    else:
        axes.set_yticks([])
        for place, name in zip(places, names, strict=True):
            axes.annotate(
                *(name, (0, place + 0.32)),
                xycoords=("axes fraction", "data"),
                fontsize=shape.font_pt - 0.5,
                color=INK,
                va="bottom",
            )
    for place in places:
        axes.axhline(place, color="#d9d1c2", lw=0.6, zorder=0)
    axes.tick_params(length=0)
    for side in axes.spines.values():
        side.set_visible(False)


def numbered_calls(timeline: Timeline) -> list[tuple[int, TimelineEntry]]:
    """The watcher's calls as they are numbered in the drawing and in the list beside it."""
    calls = [one for one in timeline.entries if one.who == "watcher" and one.kind == "said"]
    return list(enumerate(calls, 1))


def _calls(axes: "Axes", timeline: Timeline, measures: Measures, place: int) -> None:
    unheard = unheard_at(measures)
    for number, one in numbered_calls(timeline):
        if one.at_s is not None:
            call_mark(axes, number, one.at_s, place, unheard=one.at_s in unheard)


def unheard_at(measures: Measures) -> set[float | None]:
    """When the watcher's calls were that its loudspeaker did not say."""
    return {one.at_s for one in (*measures.calls, *measures.losses) if one.unheard}


def call_mark(
    axes: "Axes", number: int, at_s: float, level: float, *, unheard: bool = False
) -> None:
    """The mark of one call, with its number; one that was not heard is struck through."""
    if unheard:
        axes.plot([at_s], [level], marker=(2, 0, 45), ms=22, mec=WATCHER, mew=1.2)
    axes.plot([at_s], [level], marker="D", ms=9, mfc=PAPER, mec=WATCHER, mew=1.6)
    axes.text(at_s, level, str(number), ha="center", va="center_baseline", fontsize=7)


def _items(axes: "Axes", loops: Sequence[Loop], place: int) -> None:
    """A full mark for closed at the first asking, a half one later, a hollow one for put off or
    denied; a square where nothing was answered; none for what was overtaken."""
    for one in loops:
        if not one.counts:
            continue
        at_s = one.asked_at_s if one.settled_at_s is None else one.settled_at_s
        full: dict[str, Any] = {"marker": "o", "ms": 5.5, "mec": INK, "mew": 1.0, "ls": ""}
        if one.outcome in ("left open", "not answered"):
            full |= {"marker": "s", "mfc": PAPER}
        elif one.outcome in ("put off", "denied"):
            full |= {"mfc": PAPER}
        elif one.at_first_asking:
            full |= {"mfc": INK}
        else:
            full |= {"fillstyle": "left", "mfc": INK, "mfcalt": PAPER}
        axes.plot([at_s], [place], **full)


def labels(lane: Lane, shape: Shape, whole_s: float) -> list[str]:
    """What is written in each bar: its word, or a letter, in order of time, without the room."""
    per_s = shape.width_in * 72 / 0.7 / shape.font_pt / (whole_s or 1)
    letters: dict[str, str] = {}
    written = list(lane.words)
    for number in sorted(range(len(written)), key=lambda one: lane.bars[one][0]):
        word = written[number]
        if len(word) >= per_s * _free(lane.bars, number)[1]:
            written[number] = letters.setdefault(word, ascii_lowercase[len(letters) % 26])
    return written


def key_of(lanes: Sequence[Lane], shape: Shape, whole_s: float) -> str:
    """What the letters stand for: "a = attempt 1, b = between"; empty where there are none."""
    pairs = [
        f"{letter} = {word}"
        for lane in lanes
        for letter, word in zip(labels(lane, shape, whole_s), lane.words, strict=True)
        if letter != word
    ]
    return ", ".join(sorted(set(pairs)))


def _free(bars: Sequence[tuple[float, float]], number: int) -> tuple[float, float]:
    """The first part of a bar that no later one is drawn upon."""
    begin, lasts = bars[number]
    within = [other for other, _ in bars[number + 1 :] if begin < other < begin + lasts]
    return begin, min(within, default=begin + lasts) - begin


def _expected(axes: "Axes", measures: Measures, place: int) -> None:
    """A mark where each was done, half filled when late; a square where its time was up."""
    for one in measures.expected:
        if one.due_at_s is None or not one.applies:
            continue
        until_s = one.due_at_s + (one.within_s if one.took_s is None else one.took_s)
        look: dict[str, Any] = {"marker": "o", "ms": 5.5, "mec": INK, "mew": 1.0, "mfc": INK}
        if one.outcome == "late":
            look |= {"fillstyle": "left", "mfcalt": PAPER}
        elif one.outcome == "never":
            look |= {"marker": "s", "mfc": PAPER}
        axes.plot([until_s], [place], **look)


def _marks(axes: "Axes", timeline: Timeline, place: int) -> None:
    for one in marks_of(timeline):
        if one.at_s is not None:
            shape = MARKS.get(one.meaning or "", "v")
            axes.plot([one.at_s], [place], marker=shape, ms=6.5, mfc=PAPER, mec=INK, mew=1.1, ls="")
