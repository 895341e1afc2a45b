"""What can be measured in a case.

Items, answers, clocks and attempts are read off the case itself, folded once more from its record;
items that the case never came to are not counted.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import takewhile

from assistant.brief.case import Case
from assistant.brief.events.course import AttemptStarted, ClockStarted
from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.debrief.airways import stretches, that_held, turns
from assistant.debrief.attempts import attempts
from assistant.debrief.course import (
    LOSSES,
    Watched,
    brief_at,
    drugs_to_airway,
    oxygen_until,
    was_broken_off,
    watched,
    without_breath,
)
from assistant.debrief.entries import TimelineEntry
from assistant.debrief.findings import (
    Answers,
    ClockRun,
    Items,
    Measures,
    ThresholdCall,
    Utterances,
)
from assistant.debrief.loops import SETTLED, Loop
from assistant.debrief.moments import Moments
from assistant.debrief.open_items import answered_before, not_come_to, overtaken
from assistant.debrief.regained import falls, regained, responses
from assistant.debrief.replayed import Replayed, replay
from assistant.debrief.scenario import SimulationScenario
from assistant.debrief.scoring import score
from assistant.debrief.spans import Span, overlap, total_s
from assistant.debrief.timeline import Saturation, Timeline

NOT_HEARD = "call not heard"
"""The watcher's own row of a call that its loudspeaker did not say to the end."""


def measure(timeline: Timeline, scenario: SimulationScenario | None = None) -> Measures:
    """Measure one case; without its brief there is no case to fold, and only its rows count.

    With a scenario, which has to fit the brief, what it expects is scored.
    """
    entries = timeline.entries
    conversation = [one for one in entries if one.who != "watcher"]
    called = [one for one in entries if _is_call(one)]
    ends = [_at(one) for one in conversation if one.kind == "event" and one.meaning == "ended"]
    duration_s = ends[0] if ends else max((_at(one) for one in entries), default=0.0)
    calls, spans = list(_calls(entries)), list(_spans(called))
    losses = tuple(call for call in calls if call.kind in LOSSES)
    of_rows = Measures(
        duration_s=duration_s,
        ended=bool(ends),
        utterances=_utterances(conversation, spans),
        calls=tuple(call for call in calls if call.kind not in LOSSES),
        losses=losses,
        watched=_watched(timeline, losses, duration_s),
        lowest_saturation=_lowest(timeline.saturation, calls),
    )
    if timeline.brief is None:
        return of_rows
    replayed = replay(timeline.brief, timeline.rows, timeline.meta.started_mono_s, spans)
    audible_s = _audible(falls(called), calls)
    return _of_the_case(of_rows, timeline, replayed, audible_s, scenario)


def _of_the_case(
    of_rows: Measures,
    timeline: Timeline,
    replayed: Replayed,
    called_s: Sequence[float],
    scenario: SimulationScenario | None,
) -> Measures:
    """With what only the case tells; `called_s` are the saturation calls that could be heard."""
    entries, began_s = timeline.entries, timeline.meta.started_mono_s
    case, happenings = replayed.case, replayed.happenings
    held = that_held(case.brief, happenings)
    brief_at_s = brief_at(happenings, Phase.BEFORE, case)
    in_again = regained(entries, held, timeline.saturation, timeline.threshold_percent)
    induced_at_s, ended_by = drugs_to_airway(held) or (None, None)
    still = None if induced_at_s is None else without_breath(induced_at_s, held)
    reboots_s = [one.at_s for one in timeline.restarts if one.rebooted]
    moments = Moments(case.brief, entries, happenings, in_again)
    return replace(
        of_rows,
        items=_items(replayed),
        answers=_answers(replayed.loops),
        loops=tuple(replayed.loops),
        told_unasked=tuple(replayed.told_unasked),
        brief_at_s=brief_at_s,
        brief_broken_off=was_broken_off(brief_at_s, happenings),
        oxygen_to_drugs_at_s=oxygen_until(case, held, ClockStarted),
        oxygen_to_attempt_at_s=oxygen_until(case, held, AttemptStarted),
        after_tube_at_s=brief_at(happenings, Phase.AFTER, case),
        drugs_to_tube_at_s=induced_at_s,
        ended_by=ended_by,
        no_breath_s=None if still is None else total_s(still),
        longest_no_breath_s=max((total_s([one]) for one in still), default=0.0) if still else None,
        responses=tuple(responses(called_s, in_again, reboots_s)),
        turns=tuple(turns(case, happenings, began_s)),
        stretches=tuple(stretches(happenings, of_rows.duration_s)),
        clocks=tuple(_clocks(case, began_s)),
        attempts=tuple(attempts(case, happenings, began_s)),
        unread=tuple(case.unread),
        taken_back=tuple(replayed.taken_back),
        expected=() if scenario is None else score(scenario, moments, of_rows.duration_s),
    )


def _at(entry: TimelineEntry) -> float:
    return entry.at_s or 0.0


def _items(replayed: Replayed) -> Items:
    states = {item: replayed.case.known.items[item] for item in replayed.came_up}
    done = [item for item, state in states.items() if state.standing is Standing.DONE]
    # To the case an offer that nobody answers is put off, and so done with.
    outcomes = {one.item: one.outcome for one in replayed.loops}
    silent = [item for item in done if outcomes.get(item) == "not answered"]
    times = Counter(one.item for one in replayed.loops if one.outcome == "not answered")
    still_open = [item for item in states if item not in done]
    done += answered_before(replayed, still_open)
    still_open = [item for item in states if item not in done]
    behind = overtaken(replayed, still_open)
    never = not_come_to(replayed)
    elsewhere = {one.item for one in behind} | {item for one in never for item in one.items}
    outstanding = tuple(item for item in still_open if item not in elsewhere)
    return Items(
        asked=tuple(item for item, state in states.items() if state.asked_times),
        answered=tuple(item for item in done if item not in silent),
        deferred=tuple(
            item for item, state in states.items() if state.deferred_times > times[item]
        ),
        unanswered=tuple(silent),
        outstanding=outstanding,
        waiting=tuple(item for item in outstanding if states[item].standing is Standing.RUNNING),
        overtaken=behind,
        not_come_to=never,
    )


def _utterances(entries: Iterable[TimelineEntry], calls: Sequence[Span]) -> Utterances:
    team = [one for one in entries if one.who == "team" and one.kind in ("heard", "ignored")]
    ignored = [one for one in team if one.kind == "ignored"]
    talk = [(_at(one), _at(one) + (one.lasts_s or 0.0)) for one in team]
    return Utterances(
        heard=len(team) - len(ignored),
        ignored=len(ignored),
        doubted=sum(one.verdict == "ask" for one in team),
        room_talk_s=round(sum(one.lasts_s or 0.0 for one in ignored), 2),
        during_calls=sum(any(overlap(one, call) for call in calls) for one in talk),
    )


def _answers(loops: Sequence[Loop]) -> Answers:
    settled = [one for one in loops if one.outcome in SETTLED]
    timed = [(one.to_settling_s, one.item) for one in settled if one.to_settling_s is not None]
    longest_s, item = max(timed, key=lambda one: one[0], default=(None, None))
    at_first = sum(one.at_first_hearing for one in settled)
    return Answers(len(settled), at_first, longest_s, item)


def _calls(entries: Sequence[TimelineEntry]) -> Iterator[ThresholdCall]:
    for place, one in enumerate(entries):
        if not _is_call(one):
            continue
        after = list(takewhile(lambda later: not _is_call(later), entries[place + 1 :]))
        # Its loudspeaker died in the middle of it; or there was none.
        died = any((later.who, later.text) == ("watcher", NOT_HEARD) for later in after)
        unheard = one.unheard or died
        instead = unheard and any(
            (later.meaning, later.text) == ("call", one.text) for later in after
        )
        values = one.values.get("level_percent"), one.values.get("spo2_percent")
        yield ThresholdCall(one.at_s, one.meaning, one.text, *values, unheard, instead)


def _audible(called_s: Iterable[float], calls: Sequence[ThresholdCall]) -> list[float]:
    """Without those that nobody could hear: nothing can have answered them."""
    silent = {one.at_s for one in calls if one.unheard and not one.said_instead}
    return [one for one in called_s if one not in silent]


def _is_call(entry: TimelineEntry) -> bool:
    return entry.who == "watcher" and entry.kind == "said"


def _spans(entries: Iterable[TimelineEntry]) -> Iterator[Span]:
    for one in entries:
        if one.at_s is not None and one.lasts_s is not None:
            yield one.at_s, one.at_s + one.lasts_s


def _watched(timeline: Timeline, losses: Sequence[ThresholdCall], until_s: float) -> Watched | None:
    if timeline.threshold_percent is None:
        return None
    lost_s = [call.at_s for call in losses if call.at_s is not None]
    return watched(timeline.saturation, lost_s, timeline.threshold_percent, until_s)


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
        lasted_s = None
        if run.ended_s is not None and not run.unknown:
            lasted_s = round(run.ended_s - run.started_s, 2)
        started_s = round(run.started_s - began_s, 2)
        yield ClockRun(run.name, started_s, lasted_s, run.lasts_s, run.unknown)
