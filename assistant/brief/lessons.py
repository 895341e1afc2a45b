"""What each event of the record teaches about a case.

Each takes the event's own values; `row` carries its time.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from assistant.brief.items import AnyItem, Brief, Phase, TimedItem
from assistant.brief.known import (
    CaseClock,
    Fact,
    ItemState,
    Known,
    Mixing,
    Pending,
    Quote,
    Standing,
    Value,
    Wanted,
)
from assistant.journal.rows import Row


def _item(brief: Brief, item_id: str) -> AnyItem:
    return next(item for item in brief.items() if item.id == item_id)


def _timed_by(brief: Brief, clock: str) -> list[TimedItem]:
    return [one for one in brief.items() if isinstance(one, TimedItem) and one.clock == clock]


def _open_again(known: Known, item_id: str) -> None:
    known.items[item_id] = ItemState()
    if item_id in known.trail:
        known.trail.remove(item_id)


def _asked(known: Known, _brief: Brief, *, row: Row, item: str, **_: Any) -> None:
    if known.current != item:
        known.asked_s = row.mono_s
    known.current = item
    known.pending = None


def _value_heard(known: Known, _brief: Brief, *, value: str | float, spoken: str, **_: Any) -> None:
    known.pending = Pending(value, spoken)


def _value_refused(known: Known, _brief: Brief, **_: Any) -> None:
    known.pending = None


def _settled(known: Known, item_id: str, standing: Standing, answer: str | None) -> None:
    known.items[item_id] = ItemState(standing, answer)
    known.current = known.pending = known.asked_s = None
    if item_id in known.trail:
        known.trail.remove(item_id)
    known.trail.append(item_id)


def _answered(known: Known, brief: Brief, *, item: str, value: Any, spoken: str, **_: Any) -> None:
    asked = _item(brief, item)
    first_time = known.items[item].standing is not Standing.DUE
    running = isinstance(asked, TimedItem) and first_time
    _settled(known, item, Standing.RUNNING if running else Standing.DONE, spoken)
    if asked.kind == "number" and asked.sets is not None:
        _set(known, asked.sets, int(value))


def _deferred(known: Known, _brief: Brief, *, item: str, **_: Any) -> None:
    becomes = {Standing.OPEN: Standing.DEFERRED, Standing.DUE: Standing.RUNNING}
    before = known.items[item].standing
    _settled(known, item, becomes.get(before, Standing.OUTSTANDING), None)


def _reopened(known: Known, brief: Brief, *, item: str, **_: Any) -> None:
    _open_again(known, item)
    known.current = known.pending = None
    asked = _item(brief, item)
    if asked.kind == "number" and asked.sets is not None:
        _set(known, asked.sets, None)  # no dose for a weight that is in doubt


def _phase_done(known: Known, _brief: Brief, **_: Any) -> None:
    known.current = None


def _went_now(known: Known, brief: Brief, *, open_items: list[str], **_: Any) -> None:
    for item in open_items:
        known.items[item] = ItemState(Standing.OUTSTANDING)
    known.current = None
    _set_aside(known, brief)


def _dose_queried(
    known: Known,
    brief: Brief,
    *,
    drug: str,
    weight_kg: int | None,
    what_if: bool,
    wanted: str = Wanted.DOSE.value,
    low_pressure: bool = False,
    **_: Any,
) -> None:
    _set_aside(known, brief)
    known.quote = Quote(drug, weight_kg, what_if, Wanted(wanted), low_pressure)


def _dose_check_asked(known: Known, _brief: Brief, *, check: str, **_: Any) -> None:
    if known.quote is not None:
        known.quote = replace(known.quote, check=check)


def _dose_check_passed(known: Known, _brief: Brief, *, check: str, **_: Any) -> None:
    known.excluded.append(check)
    if known.quote is not None:
        known.quote = replace(known.quote, check=None)


def _set_aside(known: Known, _brief: Brief, **_: Any) -> None:
    known.pending = known.quote = known.fact = known.mixing = None


def _fact_heard(
    known: Known, brief: Brief, *, figure: str, value: Value | None, spoken: str, **_: Any
) -> None:
    _set_aside(known, brief)
    known.fact = Fact(figure, value, spoken)


def _fact_taken(
    known: Known, brief: Brief, *, figure: str, value: Value, spoken: str, **_: Any
) -> None:
    known.fact = None
    _set(known, figure, value)
    for item in brief.items():
        if item.kind == "number" and item.sets == figure:
            running_on = known.current, known.asked_s
            _settled(known, item.id, Standing.DONE, spoken)
            if running_on[0] != item.id:
                known.current, known.asked_s = running_on


def _fact_refused(known: Known, brief: Brief, *, figure: str, **_: Any) -> None:
    known.fact = None
    if figure == "weight_kg" and known.weight_in_doubt:
        _set(known, figure, None)
        for item in brief.items():
            if item.kind == "number" and item.sets == figure:
                known.items[item.id] = ItemState()


def _set(known: Known, figure: str, value: Value | None) -> None:
    if figure == "allergies":
        if value is not None and value not in known.allergies:
            known.allergies.append(str(value))
        return
    setattr(known, figure, value)
    if figure == "weight_kg":
        known.weight_in_doubt = False


def _mix_begun(known: Known, brief: Brief, *, drug: str, **_: Any) -> None:
    _set_aside(known, brief)
    known.mixing = Mixing(drug, 0)


def _mix_step(known: Known, _brief: Brief, *, step: int, **_: Any) -> None:
    if known.mixing is not None:
        known.mixing = replace(known.mixing, step=step)


def _restarted(known: Known, brief: Brief, *, rebooted: bool = False, **_: Any) -> None:
    known.weight_in_doubt = known.weight_kg is not None
    if rebooted:
        known.asked_s = None
        for name, clock in known.clocks.items():
            if clock.running:
                known.clocks[name] = replace(clock, unknown=True)
                for item in _timed_by(brief, name):
                    if known.items[item.id].standing is Standing.RUNNING:
                        _open_again(known, item.id)


def _attempt_started(known: Known, _brief: Brief, **_: Any) -> None:
    known.attempts += 1
    known.pacing = False  # nobody bags while somebody looks


def _pacing_started(known: Known, _brief: Brief, **_: Any) -> None:
    known.pacing = True


def _pacing_stopped(known: Known, _brief: Brief, **_: Any) -> None:
    known.pacing = False


def _tube_in(known: Known, _brief: Brief, **_: Any) -> None:
    known.phase = Phase.AFTER


def _clock_started(
    known: Known, _brief: Brief, *, row: Row, clock: str, lasts_s: float | None, **_: Any
) -> None:
    known.clocks[clock] = CaseClock(row.mono_s, lasts_s)


def _clock_ended(known: Known, brief: Brief, *, clock: str, **_: Any) -> None:
    known.clocks[clock] = replace(known.clocks[clock], ended=True)
    for item in _timed_by(brief, clock):
        if known.items[item.id].standing is Standing.RUNNING:
            known.items[item.id] = ItemState(Standing.DUE)


LEARN: dict[str, Callable[..., None]] = {
    "asked": _asked,
    "value-heard": _value_heard,
    "value-refused": _value_refused,
    "answered": _answered,
    "deferred": _deferred,
    "reopened": _reopened,
    "phase-done": _phase_done,
    "went-now": _went_now,
    "dose-queried": _dose_queried,
    "dose-check-asked": _dose_check_asked,
    "dose-check-passed": _dose_check_passed,
    "dose-told": _set_aside,
    "dose-dropped": _set_aside,
    "fact-heard": _fact_heard,
    "fact-taken": _fact_taken,
    "fact-refused": _fact_refused,
    "mix-begun": _mix_begun,
    "mix-step": _mix_step,
    "mix-done": _set_aside,
    "held": _set_aside,
    "closing": _set_aside,
    "restarted": _restarted,
    "attempt-started": _attempt_started,
    "tube-in": _tube_in,
    "pacing-started": _pacing_started,
    "pacing-stopped": _pacing_stopped,
    "clock-started": _clock_started,
    "clock-ended": _clock_ended,
}
"""By the name of the event; the others teach nothing."""
