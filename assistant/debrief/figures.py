"""The measures of a case by name and number; `definitions` says what each of them means."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from assistant.brief.events.course import TubeIn
from assistant.debrief.airways import AIRWAYS
from assistant.debrief.definitions import DEFINITIONS, Definition
from assistant.debrief.findings import Measures
from assistant.debrief.loops import Loop
from assistant.debrief.spans import Span, total_s
from assistant.debrief.times import short_time


@dataclass(frozen=True, slots=True)
class Figure:
    """One measure of one case."""

    name: str
    value: float | None
    """None when the record does not tell."""
    of: int | None = None
    """How many it was worked out from, where that matters."""
    remark: str = ""
    """What else belongs to it, for people."""
    cut_short: bool = False
    """It was over before it was done: told, and not compared with those of other cases."""

    @property
    def definition(self) -> Definition:
        """What it means."""
        return DEFINITIONS[self.name]

    def told(self) -> str:
        """The number for people, with its unit and what else belongs to it."""
        return ", ".join(filter(None, (self._number(), self.remark))) or "not known"

    def _number(self) -> str:
        if self.value is None:
            return ""
        unit = self.definition.unit
        told_s = short_time(self.value)
        number = told_s if unit == "s" else f"{self.value:.0f} {unit}".rstrip()
        return number if self.of is None else f"{number} (of {self.of})"


@dataclass(frozen=True, slots=True)
class Addressee:
    """The loops that were opened with one person."""

    to: str
    opened: int
    closed: int
    at_first_asking: int
    median_to_answer_s: float | None


def addressees(loops: Sequence[Loop]) -> tuple[Addressee, ...]:
    """Whom the brief was put to, in the order in which they first were."""
    found = []
    owed = [one for one in loops if one.counts]
    for to in dict.fromkeys(one.to for one in owed):
        own = [one for one in owed if one.to == to]
        found.append(
            Addressee(
                to,
                len(own),
                sum(one.outcome == "closed" for one in own),
                sum(one.at_first_asking for one in own),
                _median([one.to_answer_s for one in own]),
            )
        )
    return tuple(found)


def figures(measures: Measures) -> tuple[Figure, ...]:
    """Every measure that can be told by a number; those of loops only where there were any."""
    found = list(_of_course(measures))
    if measures.items is not None:
        found = [*_of_loops(measures, measures.loops), *found]
    return tuple(found)


def _of_loops(measures: Measures, loops: Sequence[Loop]) -> Iterator[Figure]:
    owed, items = [one for one in loops if one.counts], measures.items
    opened = len(owed)
    closed = [one for one in loops if one.outcome == "closed"]
    put_off = {one.item for one in loops if one.outcome == "put off"}
    waits = [one.to_answer_s for one in loops]
    settlings = [one.to_settling_s for one in loops]
    open_still: set[str] = set()
    if items is not None:
        open_still = {*items.outstanding, *(one.item for one in items.overtaken)}
    yield Figure("loops_closed_percent", _percent(len(closed), opened), opened)
    yield Figure(
        "closed_at_first_asking_percent",
        _percent(sum(one.at_first_asking for one in loops), opened),
        opened,
    )
    yield Figure("median_to_answer_s", _median(waits), _known(waits))
    yield Figure(
        "longest_to_settling_s",
        max((one for one in settlings if one is not None), default=None),
        _known(settlings),
    )
    yield Figure("put_off", float(len(put_off)))
    yield Figure("put_off_never_resolved", float(len(put_off & open_still)))
    yield Figure("answers_amiss", float(sum(len(one.mismatched) for one in loops)), len(loops))


def _of_course(measures: Measures) -> Iterator[Figure]:
    said, watched = measures.utterances, measures.watched
    took = [one.took_s for one in measures.responses]
    answered = sum(one.how is not None for one in measures.responses)
    yield Figure("talk_during_calls", float(said.during_calls))
    yield Figure("room_talk_s", said.room_talk_s, said.ignored)
    broken_off = measures.brief_broken_off
    remark = "broken off, to go now" if broken_off else ""
    brief_s = _length_s(measures.brief_at_s)
    yield Figure("brief_s", brief_s, remark=remark, cut_short=broken_off)
    yield Figure("oxygen_to_drugs_s", _length_s(measures.oxygen_to_drugs_at_s))
    yield Figure("oxygen_to_attempt_s", _length_s(measures.oxygen_to_attempt_at_s))
    yield Figure("after_tube_s", _length_s(measures.after_tube_at_s))
    rescue = measures.ended_by if measures.ended_by != AIRWAYS[TubeIn.name] else None
    yield Figure(
        "drugs_to_tube_s",
        _length_s(measures.drugs_to_tube_at_s),
        remark=f"to {rescue}" if rescue else "",
    )
    yield Figure("no_breath_s", measures.no_breath_s)
    yield Figure("attempts", float(len(measures.attempts)))
    yield Figure(
        "call_to_response_s",
        max((one for one in took if one is not None), default=None),
        remark=f"{answered} of {len(took)} calls answered" if took else "",
    )
    if measures.expected:
        due = [one for one in measures.expected if one.applies]
        in_time = sum(one.outcome == "in time" for one in due)
        yield Figure("expected_in_time_percent", _percent(in_time, len(due)), len(due))
    yield Figure("low_s", None if watched is None or not watched.seen_s else watched.low_s)


def _length_s(span: Span | None) -> float | None:
    return None if span is None else total_s([span])


def _percent(part: int, whole: int) -> float | None:
    return round(100 * part / whole, 1) if whole else None


def _median(values: Sequence[float | None]) -> float | None:
    known = [one for one in values if one is not None]
    return round(median(known), 2) if known else None


def _known(values: Sequence[float | None]) -> int:
    return sum(one is not None for one in values)
