"""Time called aloud."""

from assistant.brief.brief import TimedCall
from assistant.brief.brief_questions import clock_names
from assistant.brief.clocks import CaseClock
from assistant.brief.events.course import TimeCalled
from assistant.brief.going_on import say_since
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import Phase
from assistant.brief.states import State
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.sentences import filled

ON_TIME_S = 3.0
"""Until then the site's own words are true enough; later the clock's own time is said."""
TOO_LATE_S = 30.0
"""A time that could not be called for so long, as after a restart, is not called any more."""
_TURN_S = 8.0
"""So long after a turn of the case its first question is asked and answered before any time."""
_SAID_WITHIN_S = 5.0
"""A watcher's call may come first; what is said later than that is not true any more."""
_QUIET = (State.OPENED, State.ASKING, State.READY, State.ATTEMPTING, State.HELD)


def call_times(now: Moment, *, unasked: bool) -> Steps:
    """Each of the site's times once, as soon as nothing is in its way.

    Not while an answer is awaited, unless it is `unasked` just now; and not where somebody wants
    silence, or a vital word is asked back, or whose case it is. What has waited for too long, or is
    outrun by its clock's next time, is passed over.
    """
    if now.case.state is State.ENDED:
        return
    in_its_way = not (unasked or _nothing_asked(now)) or _comes_first(now)
    calls = now.case.brief.timed_calls
    for call in calls:
        clock = _due(now, call)
        if clock is None:
            continue
        later = (one for one in calls if one.clock == call.clock and one.after_s > call.after_s)
        outrun = any(_due(now, one) for one in later)
        late_s = now.present.now_s - clock.started_s - call.after_s
        what = f"{call.clock}: {call.after_s} s"
        if outrun or late_s >= TOO_LATE_S:
            called = TimeCalled(clock=call.clock, after_s=call.after_s, said=False)
            yield Happened(called, f"{what}, passed over")
        elif not in_its_way:
            yield Happened(TimeCalled(clock=call.clock, after_s=call.after_s), what)
            text = call.say if late_s <= ON_TIME_S else _time_of(now, call.clock, clock)
            until_s = now.present.now_s + _SAID_WITHIN_S
            yield Line(text, "time", urgency=Urgency.TIME, until_s=until_s)


def _due(now: Moment, call: TimedCall) -> CaseClock | None:
    """Its clock, where that has run for so long and the call is still to be made."""
    clock = now.case.known.clocks.get(call.clock)
    if clock is None or not clock.running:
        return None
    called = call.after_s <= now.case.known.times_called.get(call.clock, 0)
    over = now.present.now_s - clock.started_s >= call.after_s
    return clock if over and not called else None


def _time_of(now: Moment, name: str, clock: CaseClock) -> str:
    time = say_since(now, clock.started_s)
    return filled(now.says.elapsed, what=clock_names(now).get(name, name), time=time)


def _nothing_asked(now: Moment) -> bool:
    asked = now.case.state is State.ASKING and now.case.current is not None
    return now.case.state in _QUIET and not asked


def _comes_first(now: Moment) -> bool:
    quiet = now.case.state is State.HELD and now.case.known.held_quietly
    asked_back = now.case.state in (State.DOUBTING, State.IDENTIFYING)
    return quiet or asked_back or _has_just_turned(now)


def _has_just_turned(now: Moment) -> bool:
    """Whether the first question after a turn of the case stands: the wave, once a tube is in."""
    case, item, known = now.case, now.case.current, now.case.known
    if item is None or case.state is not State.ASKING or known.phase is Phase.BEFORE:
        return False
    asked = [one for one in known.trail if case.is_of_this_phase(one)]
    soon = known.asked_s is not None and now.present.now_s - known.asked_s < _TURN_S
    return soon and not any(one != item.id for one in asked)
