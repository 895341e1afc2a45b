"""What can be measured in a case, from its timeline alone.

The record does not hold the site's brief, so items that the case never came to are not counted.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from assistant.debrief.timeline import Entry, Saturation, Timeline

LOSSES = ("signal-lost", "feed-lost")
"""Calls of the watcher that are not about a saturation."""


@dataclass(frozen=True, slots=True)
class Items:
    """The items of the brief, by their identifiers, in the order in which they first came up."""

    asked: tuple[str, ...]
    answered: tuple[str, ...]
    """Whose last answer stands."""
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
class Attempt:
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
    items: Items
    utterances: Utterances
    answers: Answers
    calls: tuple[ThresholdCall, ...]
    """Saturation calls."""
    losses: tuple[ThresholdCall, ...]
    """Calls for a lost signal or feed."""
    lowest_saturation: Saturation | None
    """Of what the watcher recorded, about one sample a second: it may have been lower between."""
    clocks: tuple[ClockRun, ...]
    attempts: tuple[Attempt, ...]


def measure(timeline: Timeline) -> Measures:
    """Measure one case."""
    entries = timeline.entries
    conversation = [one for one in entries if one.who != "watcher"]
    ends = [_at(one) for one in conversation if _event(one) == "ended"]
    calls = list(_calls(entries))
    return Measures(
        duration_s=ends[0] if ends else max((_at(one) for one in entries), default=0.0),
        ended=bool(ends),
        items=_items(conversation),
        utterances=_utterances(conversation),
        answers=_answers(conversation),
        calls=tuple(call for call in calls if call.kind not in LOSSES),
        losses=tuple(call for call in calls if call.kind in LOSSES),
        lowest_saturation=_lowest(timeline.saturation, calls),
        clocks=tuple(_clocks(conversation)),
        attempts=tuple(_attempts(conversation)),
    )


def _event(entry: Entry) -> str | None:
    return entry.meaning if entry.kind == "event" else None


def _rebooted(entry: Entry) -> bool:
    """From here on nobody knows how long anything has lasted that began before."""
    return _event(entry) == "restarted" and bool(entry.values.get("rebooted"))


def _at(entry: Entry) -> float:
    return entry.at_s or 0.0


def _items(entries: Iterable[Entry]) -> Items:
    last: dict[str, str] = {}
    asked: dict[str, None] = {}
    deferred: dict[str, None] = {}
    for entry in entries:
        event = _event(entry)
        if event == "asked" and entry.item:
            asked[entry.item] = None
            last.setdefault(entry.item, "open")
        elif event in ("answered", "deferred", "reopened") and entry.item:
            last[entry.item] = event
            if event == "deferred":
                deferred[entry.item] = None
        elif event in ("went-now", "phase-done"):
            for item in entry.values.get("open_items", ()):
                last[item] = "open"
    return Items(
        asked=tuple(asked),
        answered=tuple(item for item, event in last.items() if event == "answered"),
        deferred=tuple(deferred),
        outstanding=tuple(item for item, event in last.items() if event != "answered"),
    )


def _utterances(entries: Iterable[Entry]) -> Utterances:
    kinds = [(one.kind, one.verdict) for one in entries if one.who == "team"]
    return Utterances(
        heard=sum(kind == "heard" for kind, _ in kinds),
        ignored=sum(kind == "ignored" for kind, _ in kinds),
        doubted=sum(verdict == "ask" for _, verdict in kinds),
    )


@dataclass(slots=True)
class _Question:
    item: str
    asked_at_s: float
    plain: bool = True


def _answers(entries: Iterable[Entry]) -> Answers:
    question: _Question | None = None
    settled: list[tuple[float, str, bool]] = []
    for entry in entries:
        event = _event(entry)
        if event == "asked" and entry.item:
            question = _Question(entry.item, _at(entry))
        elif _rebooted(entry):
            question = None
        elif question is None:
            continue
        elif event in ("answered", "deferred") and entry.item == question.item:
            settled.append((_at(entry) - question.asked_at_s, question.item, question.plain))
            question = None
        elif event == "value-refused" or entry.kind == "ignored" or entry.verdict == "ask":
            question.plain = False
    wait_s, item, _ = max(settled, key=lambda one: one[0], default=(None, None, False))
    return Answers(
        settled=len(settled),
        at_first_hearing=sum(plain for _, _, plain in settled),
        longest_wait_s=None if wait_s is None else round(wait_s, 2),
        longest_wait_item=item,
    )


def _calls(entries: Iterable[Entry]) -> Iterator[ThresholdCall]:
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


def _clocks(entries: Sequence[Entry]) -> Iterator[ClockRun]:
    for place, entry in enumerate(entries):
        if _event(entry) != "clock-started":
            continue
        name = str(entry.values.get("clock"))
        until = next(
            (
                later
                for later in entries[place + 1 :]
                # A clock that is started once more begins anew.
                if _rebooted(later)
                or (
                    _event(later) in ("clock-ended", "clock-started")
                    and later.values.get("clock") == name
                )
            ),
            None,
        )
        unknown = until is not None and _rebooted(until)
        lasted_s = None if until is None or unknown else round(_at(until) - _at(entry), 2)
        yield ClockRun(name, _at(entry), lasted_s, entry.values.get("lasts_s"), unknown)


def _attempts(entries: Sequence[Entry]) -> Iterator[Attempt]:
    outcomes = {"attempt-failed": "failed", "tube-in": "tube in"}
    begun_at_s: float | None = None
    number = 0
    known = True
    for entry in entries:
        event = _event(entry)
        known &= not _rebooted(entry)
        if event == "attempt-started":
            if begun_at_s is not None:
                yield Attempt(number, begun_at_s, None, None)
            number, begun_at_s, known = number + 1, _at(entry), True
        elif event in outcomes and begun_at_s is not None:
            lasted_s = round(_at(entry) - begun_at_s, 2) if known else None
            yield Attempt(number, begun_at_s, lasted_s, outcomes[event])
            begun_at_s = None
    if begun_at_s is not None:
        yield Attempt(number, begun_at_s, None, None)
