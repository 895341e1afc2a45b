"""What a case came to, in order of time, before all numbers: each with the words that led to it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from assistant.brief.confirmed_items import WaveItem
from assistant.debrief.attempts import AttemptRun
from assistant.debrief.drugs import WentIn, drugs_of
from assistant.debrief.entries import TimelineEntry
from assistant.debrief.findings import Measures
from assistant.debrief.lanes import numbered_calls, unheard_at
from assistant.debrief.measured_lines import UNHEARD
from assistant.debrief.timeline import Timeline
from assistant.debrief.times import short_time

_YES = ("confirm", "plain_yes", "bare_yes")
"""What a yes was taken for."""
_ASKED_BACK = ("vital-doubted", "value-heard", "fact-heard")
"""Events after which a yes stands for the words before it."""
_ENDED = {
    "failed": "attempt {number} failed",
    "tube in": "the tube was in, at attempt {number}",
    # That it came out, or gave no wave, is a turn of its own.
    "tube out": "the tube was in, at attempt {number}",
    "no wave": "the tube was in, at attempt {number}",
}

Words = Mapping[float, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class KeyMoment:
    """One of them."""

    at_s: float
    what: str
    """"attempt 1 failed, after 40.1 s"."""
    said: tuple[str, ...] = ()
    """What was heard, or called, and led to it; what was asked back, and the yes to it."""

    @property
    def quoted(self) -> str:
        """The same as people write it."""
        return ", ".join(f"“{one}”" for one in self.said)


def key_moments(timeline: Timeline, measures: Measures) -> tuple[KeyMoment, ...]:
    """Turns, attempts, drugs, the watcher's calls, the lowest saturation and restarts."""
    words = _words(timeline.entries)
    found = [
        *_turns(measures, words),
        *(one for each in measures.attempts for one in _attempt(each, words)),
        *(
            one
            for each in drugs_of(timeline, measures.taken_back).given
            for one in _went_in(each, words)
        ),
        *_calls(timeline, measures),
        *_lowest(measures),
        *_waves(timeline, measures, words),
        *(
            KeyMoment(one.at_s, f"the {'machine' if one.rebooted else 'program'} was started anew")
            for one in timeline.restarts
        ),
    ]
    return tuple(sorted(found, key=lambda one: one.at_s))


def _words(entries: Sequence[TimelineEntry]) -> Words:
    """By the time of what happened, the words that were heard last before it and not yet answered;
    a yes to what was asked back comes after the words that it stands for."""
    found: dict[float, tuple[str, ...]] = {}
    last: tuple[str, ...] = ()
    asked_back: tuple[str, ...] = ()
    for one in entries:
        if (one.who, one.kind) == ("team", "heard"):
            farther = " (from farther away)" if one.voice == "other" else ""
            last = (*(asked_back if one.meaning in _YES else ()), f"{one.text}{farther}")
            asked_back = ()
        elif (one.who, one.kind) == ("assistant", "said"):
            last = ()
        elif one.kind == "event" and one.at_s is not None and last:
            found[one.at_s] = last
            asked_back = last if one.meaning in _ASKED_BACK else asked_back
    return found


def _turns(measures: Measures, words: Words) -> Iterator[KeyMoment]:
    for one in measures.turns:
        yield KeyMoment(one.at_s, one.what, words.get(one.at_s, ()))
        if one.lasted_s is not None:
            back_s = round(one.at_s + one.lasted_s, 2)
            what = f"the pulse was back, after {short_time(one.lasted_s)}"
            yield KeyMoment(back_s, what, words.get(back_s, ()))


def _attempt(one: AttemptRun, words: Words) -> Iterator[KeyMoment]:
    told = "".join(f"; {told}" for told in one.told)
    if one.ended_at_s != one.started_at_s:  # else only its end was told
        began = f"attempt {one.number} began{told}"
        yield KeyMoment(one.started_at_s, began, words.get(one.started_at_s, ()))
    ended = _ENDED.get(one.outcome or "")
    if ended is not None and one.ended_at_s is not None:
        after = "" if one.lasted_s is None else f", after {short_time(one.lasted_s)}"
        what = ended.format(number=one.number) + after
        yield KeyMoment(one.ended_at_s, what, words.get(one.ended_at_s, ()))


def _went_in(one: WentIn, words: Words) -> Iterator[KeyMoment]:
    if one.at_s is None or one.taken_back_at_s is not None:
        return
    what = "the drugs were in" if one.drug is None else f"{one.drug} was in"
    if one.amount is not None:
        what += f"; {one.amount} was told"
    elif one.dose is not None and one.dose.held_until_s is not None:
        what += f"; its dose, {one.dose.amount}, was outdated"
    if one.against:
        what += f"; an allergy to {' and '.join(one.against)} was told"
    yield KeyMoment(one.at_s, what, words.get(one.at_s, ()))
    if one.put_right is not None and one.put_right.at_s is not None:
        at_s, weight_kg = one.put_right.at_s, one.put_right.weight_kg
        right = f"the weight was put right to {weight_kg:g} kg, after {one.drug} was in"
        yield KeyMoment(at_s, right, words.get(at_s, ()))


def _calls(timeline: Timeline, measures: Measures) -> Iterator[KeyMoment]:
    unheard = unheard_at(measures)
    for number, one in numbered_calls(timeline):
        if one.at_s is not None:
            silent = f", {UNHEARD}" if one.at_s in unheard else ""
            yield KeyMoment(one.at_s, f"the watcher's call {number}{silent}", (one.text,))


def _waves(timeline: Timeline, measures: Measures, words: Words) -> Iterator[KeyMoment]:
    """That of an airway was told: without it nobody knows that one is in the windpipe."""
    for one in measures.loops:
        item = None if timeline.brief is None else timeline.brief.item(one.item)
        if isinstance(item, WaveItem) and one.outcome == "closed" and one.settled_at_s is not None:
            said = words.get(one.settled_at_s, ())
            yield KeyMoment(one.settled_at_s, f"{item.label}: {one.answer}", said)


def _lowest(measures: Measures) -> Iterator[KeyMoment]:
    """Where it was low; else it is one of the numbers, and no more."""
    lowest, watched = measures.lowest_saturation, measures.watched
    if lowest and watched and lowest.spo2_percent <= watched.threshold_percent:
        what = f"the lowest saturation on record: {lowest.spo2_percent} %"
        yield KeyMoment(lowest.at_s, what)
