"""What can be measured in a case.

Items, answers, clocks and attempts are read off the case itself, folded once more from its record;
items that the case never came to are not counted.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from assistant.brief.case import Case
from assistant.brief.items import Standing
from assistant.debrief.replayed import Question, Replayed, replay
from assistant.debrief.timeline import Saturation, Timeline, TimelineEntry

LOSSES = ("signal-lost", "feed-lost")
"""Calls of the watcher that are not about a saturation."""


@dataclass(frozen=True, slots=True)
class Items:
    """The items of the brief, by their identifiers, in the order in which they first came up."""

    asked: tuple[str, ...]
    answered: tuple[str, ...]
    """Done: the last answer stands, and its clock is over."""
    deferred: tuple[str, ...]
    """Once at least, the answer was "not yet"."""
    outstanding: tuple[str, ...]
    """Asked, or named as left open, and not answered in the end."""


@dataclass(frozen=True, slots=True)
class Utterances:
    """What the microphone brought."""

    heard: int
    """Taken for something that was said to the assistant."""
    ignored: int
    doubted: int
    """Of those heard: asked back, because they were not understood for sure."""


@dataclass(frozen=True, slots=True)
class Answers:
    """How questions were settled, by an answer or a "not yet"; an item may be asked repeatedly."""

    settled: int
    at_first_hearing: int
    """Nothing that was said between question and answer was ignored, doubted, or read back and
    refused. Room talk in between counts against it: the record cannot tell it from an answer."""
    longest_wait_s: float | None
    """From the question's beginning to the answer; None when nothing was settled."""
    longest_wait_item: str | None


@dataclass(frozen=True, slots=True)
class ThresholdCall:
    """One call of the watcher."""

    at_s: float | None
    kind: str | None
    text: str
    level_percent: int | None
    spo2_percent: int | None


@dataclass(frozen=True, slots=True)
class ClockRun:
    """One run of a clock that was started aloud."""

    name: str
    started_at_s: float
    lasted_s: float | None
    """None: it still ran when the record ends, or nobody knows."""
    set_to_s: float | None
    """None for a clock that only counts."""
    unknown: bool = False
    """The machine was started anew while it ran: nobody knows how long it did."""


@dataclass(frozen=True, slots=True)
class AttemptRun:
    """One attempt, as it was said aloud to begin and to end."""

    number: int
    started_at_s: float
    lasted_s: float | None
    """None when the record does not say, or the machine was started anew meanwhile."""
    outcome: str | None
    """`failed` or `tube in`; None when the record does not say."""


@dataclass(frozen=True, slots=True)
class Measures:
    """All of it."""

    duration_s: float
    """From the start to the end of the case, or to the last row when it was not ended."""
    ended: bool
    items: Items | None
    """None, as `answers`, when the case's brief cannot be read."""
    utterances: Utterances
    answers: Answers | None
    calls: tuple[ThresholdCall, ...]
    """Saturation calls."""
    losses: tuple[ThresholdCall, ...]
    """Calls for a lost signal or feed."""
    lowest_saturation: Saturation | None
    """Of what the watcher recorded, about one sample a second: it may have been lower between."""
    clocks: tuple[ClockRun, ...]
    attempts: tuple[AttemptRun, ...]
    unread: tuple[str, ...]
    """Rows that this program could not apply, such as those of a later version, each with why."""


def measure(timeline: Timeline) -> Measures:
    """Measure one case; without its brief there is no case to fold, and only its rows count."""
    entries = timeline.entries
    conversation = [one for one in entries if one.who != "watcher"]
    ends = [_at(one) for one in conversation if one.kind == "event" and one.meaning == "ended"]
    calls = list(_calls(entries))
    replayed = None if timeline.brief is None else replay(timeline.brief, timeline.rows)
    began_s = timeline.meta.started_mono_s
    return Measures(
        duration_s=ends[0] if ends else max((_at(one) for one in entries), default=0.0),
        ended=bool(ends),
        items=None if replayed is None else _items(replayed),
        utterances=_utterances(conversation),
        answers=None if replayed is None else _answers(replayed.settled),
        calls=tuple(call for call in calls if call.kind not in LOSSES),
        losses=tuple(call for call in calls if call.kind in LOSSES),
        lowest_saturation=_lowest(timeline.saturation, calls),
        clocks=() if replayed is None else tuple(_clocks(replayed.case, began_s)),
        attempts=() if replayed is None else tuple(_attempts(replayed.case, began_s)),
        unread=() if replayed is None else tuple(replayed.case.unread),
    )


def _at(entry: TimelineEntry) -> float:
    return entry.at_s or 0.0


def _items(replayed: Replayed) -> Items:
    states = {item: replayed.case.known.items[item] for item in replayed.came_up}
    done = [item for item, state in states.items() if state.standing is Standing.DONE]
    return Items(
        asked=tuple(item for item, state in states.items() if state.asked_times),
        answered=tuple(done),
        deferred=tuple(item for item, state in states.items() if state.deferred_times),
        outstanding=tuple(item for item in states if item not in done),
    )


def _utterances(entries: Iterable[TimelineEntry]) -> Utterances:
    kinds = [(one.kind, one.verdict) for one in entries if one.who == "team"]
    return Utterances(
        heard=sum(kind == "heard" for kind, _ in kinds),
        ignored=sum(kind == "ignored" for kind, _ in kinds),
        doubted=sum(verdict == "ask" for _, verdict in kinds),
    )


def _answers(settled: Sequence[Question]) -> Answers:
    longest = max(settled, key=lambda one: one.took_s, default=None)
    return Answers(
        settled=len(settled),
        at_first_hearing=sum(one.at_first_hearing for one in settled),
        longest_wait_s=None if longest is None else round(longest.took_s, 2),
        longest_wait_item=None if longest is None else longest.item,
    )


def _calls(entries: Iterable[TimelineEntry]) -> Iterator[ThresholdCall]:
    for one in entries:
        if one.who == "watcher" and one.kind == "said":
            level, spo2 = one.values.get("level_percent"), one.values.get("spo2_percent")
            yield ThresholdCall(one.at_s, one.meaning, one.text, level, spo2)


def _lowest(samples: Iterable[Saturation], calls: Iterable[ThresholdCall]) -> Saturation | None:
    called = [
        Saturation(call.at_s, call.spo2_percent)
        for call in calls
        if call.at_s is not None and call.spo2_percent is not None
    ]
    every = sorted([*samples, *called], key=lambda one: one.at_s)
    return min(every, key=lambda one: one.spo2_percent, default=None)


def _clocks(case: Case, began_s: float) -> Iterator[ClockRun]:
    for run in case.known.clock_runs:
        lasted_s = _lasted_s(run.started_s, run.ended_s, unknown=run.unknown)
        started_s = round(run.started_s - began_s, 2)
        yield ClockRun(run.name, started_s, lasted_s, run.lasts_s, run.unknown)


def _attempts(case: Case, began_s: float) -> Iterator[AttemptRun]:
    for number, one in enumerate(case.known.attempts, 1):
        lasted_s = _lasted_s(one.started_s, one.ended_s, unknown=one.unknown)
        yield AttemptRun(number, round(one.started_s - began_s, 2), lasted_s, one.outcome)


def _lasted_s(started_s: float, ended_s: float | None, *, unknown: bool) -> float | None:
    return None if ended_s is None or unknown else round(ended_s - started_s, 2)
