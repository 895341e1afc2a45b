"""What waited for a clock that has ended: the wave, an item that is asked again, bagging."""

from collections.abc import Sequence

from assistant.brief import answers
from assistant.brief.agenda import timed
from assistant.brief.confirmed_items import TimedItem
from assistant.brief.events.course import ClockEnded
from assistant.brief.events.vital import WaveDue
from assistant.brief.going_on import ask_next, ask_on
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.prompts import say_time
from assistant.brief.seen import seen_meanwhile
from assistant.brief.states import State
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.sentences import filled

_WAITS_FOR_THE_WAVE = (State.CHECKING, State.QUOTING, State.STATING, State.MIXING)
"""What is open there comes after it, as after a vital word."""


def end_clocks(now: Moment) -> Steps:
    """Clocks that have run out are ended."""
    for name, clock in now.case.known.clocks.items():
        over = clock.lasts_s is not None and now.present.now_s - clock.started_s >= clock.lasts_s
        if not (over and clock.running) or now.case.state is State.ENDED:
            continue
        ended = ClockEnded(clock=name)
        yield Happened(ended, f"{name}: {clock.lasts_s:.0f} s are over")
        now.present.clock_has_ended = True


def ask_what_is_due(now: Moment, *, unasked: bool) -> Steps:
    """It is asked, once nobody is speaking.

    A wave comes before what is asked or read back, whatever it is; all else when its turn has
    come. `unasked`: no answer is awaited just now; whoever has just been asked something is
    given the time to answer it, which leads on to the wave as well.
    """
    if not unasked:
        return
    clock_has_ended, now.present.clock_has_ended = now.present.clock_has_ended, False
    state, seen = now.case.state, seen_meanwhile(now)
    if seen is not None and state in (State.ASKING, State.READY):
        yield from answers.take_seen(now, *seen)
        return
    due = timed(now.case, Standing.DUE) if clock_has_ended else []
    if now.case.current in due:  # an answer has led to it already
        return
    at_once = any(one.asked_at_once for one in due)
    bagged = any(one.told_meanwhile for one in due)
    if due and state in (State.ASKING, State.READY):
        if now.case.current is None or at_once or bagged:
            yield from ask_next(now)
    elif due and state is State.HELD and not now.case.known.is_arrested:
        yield from _tell(now, due)
    elif at_once and state in _WAITS_FOR_THE_WAVE:
        yield Happened(WaveDue(), "the wave, before what was open")
        yield from ask_on(now)


def _tell(now: Moment, due: Sequence[AnyItem]) -> Steps:
    """While nothing is asked, that the time is up is told and not asked after."""
    for item in due:
        clock = now.case.known.clocks.get(item.clock) if isinstance(item, TimedItem) else None
        if clock is not None and clock.lasts_s is not None:
            time = say_time(round(clock.lasts_s), now.tongue)
            text = filled(now.says.elapsed, what=clock.name, time=time)
            yield Line(text, "elapsed", urgency=Urgency.TIME)
