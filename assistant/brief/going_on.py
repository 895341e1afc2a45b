"""Going on: back to what was open, or to the next item."""

from assistant.brief.agenda import label, next_item, section_of, still_to_ask, to_name, unanswered
from assistant.brief.brief import Phase
from assistant.brief.events.asides import FactHeard
from assistant.brief.events.asking import Asked, PhaseDone, ValueHeard
from assistant.brief.events.course import ClockEnded, ClockStarted
from assistant.brief.events.vital import TakenUp
from assistant.brief.items import AnyItem, Standing, TimedItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.prompts import prompt, question, say_time
from assistant.brief.states import State
from assistant.language.tongue import ENGLISH, Tongue
from assistant.speaking.mouth import Line, Urgency

_WAITING = (State.OPENED, State.ASKING, State.READY)
"""Where what was interrupted comes again."""


def go_on(now: Moment) -> Steps:
    """Back to what was open: say its prompt, or ask the next item.

    An aside that a vital word interrupted is taken up again first. What was told, and not settled
    before something else came in between, is read back again; then come the items whose asking a
    vital word broke off.
    """
    if now.case.state in _WAITING:
        if now.case.known.laid_aside is not None:
            yield Happened(TakenUp(), "taken up again")
        else:
            yield from _told_before(now)
    line = prompt(now)
    if line is not None:
        yield line
    elif now.case.state is State.ASKING or _was_broken_off(now):
        yield from ask_next(now)


def _was_broken_off(now: Moment) -> bool:
    case = now.case
    left = case.state is State.READY and case.known.left_phase is case.known.phase
    return left and still_to_ask(case)


def _told_before(now: Moment) -> Steps:
    """A fact first; the answer to the item that is asked after it."""
    known, item = now.case.known, now.case.current
    fact, pending = known.interrupted, known.pending
    if fact is not None:
        again = FactHeard(figure=fact.figure, value=fact.value, spoken=fact.spoken)
        yield Happened(again, f"{fact.figure.replace('_', ' ')}, once more: {fact.spoken}?")
    elif pending is not None and item is not None and now.case.state is State.ASKING:
        heard = ValueHeard(value=pending.value, spoken=pending.spoken)
        yield Happened(heard, f"{label(item)}, once more: {pending.spoken}?", item.id)


def ask_next(now: Moment) -> Steps:
    """Ask the next item, after what was laid aside; when there is none, wait for a clock, or say
    what is left open.
    """
    if now.case.state in _WAITING and now.case.known.laid_aside is not None:
        yield from go_on(now)
    else:
        yield from ask_on(now)


def ask_on(now: Moment) -> Steps:
    """The same, whatever was laid aside: what has just happened goes before that."""
    item = next_item(now.case)
    if item is not None:
        yield from ask(now, item)
        return
    running = now.case.with_standing(Standing.RUNNING)
    if running and isinstance(running[0], TimedItem):
        yield Line(now.filled(now.says.clock_left, clock=running[0].clock), "clock-left")
        return
    left = unanswered(now.case)
    phase = now.case.known.phase
    done = PhaseDone(open_items=[one.id for one in left])
    yield Happened(done, f"brief {phase.value}: {len(left)} open")
    before, says = phase is Phase.BEFORE, now.says
    if left:
        text = says.before_done_open if before else says.after_done_open
        text = now.filled(text, count=now.say(len(left)), items=to_name(left, now.tongue))
    else:
        text = says.before_done if before else says.after_done
    yield Line(text, "phase-done")


def ask(now: Moment, item: AnyItem) -> Steps:
    """Ask an item, and say whom it is put to where that changes."""
    case = now.case
    same_person = bool(case.known.trail) and (
        section_of(case.brief, case.known.trail[-1]) is section_of(case.brief, item.id)
    )
    text = question(now, item, short=now.short)
    if case.standing(item) in (Standing.DEFERRED, Standing.OUTSTANDING):
        text = now.filled(now.says.ask_again, ask=text)
    if not same_person:
        to = section_of(case.brief, item.id).to
        text = now.filled(now.says.ask, to=to, ask=text)
    yield Happened(Asked(item=item.id), label(item), item.id)
    yield Line(text, "ask", item.id, Urgency.ASK)


def run_clock(now: Moment, item: TimedItem, lasts_s: int) -> Steps:
    """Start the clock of an item, aloud."""
    yield Happened(
        ClockStarted(clock=item.clock, lasts_s=lasts_s), f"{item.clock}: {lasts_s} s", item.id
    )
    lasts = say_time(lasts_s, now.tongue)
    text = now.filled(now.says.clock_started, clock=item.clock, lasts=lasts)
    yield Line(text, "clock", item.id)


def count(clock: str) -> Steps:
    """Start a clock that only counts."""
    yield Happened(ClockStarted(clock=clock, lasts_s=None), f"{clock}: counting")


def stop_counting(now: Moment, clock: str) -> Steps:
    """Stop it, if it was started."""
    run = now.case.known.clocks.get(clock)
    if run is not None and not run.ended:
        yield Happened(ClockEnded(clock=clock), f"{clock}: stopped")


def say_elapsed(seconds: float, tongue: Tongue = ENGLISH) -> str:
    """Elapsed time for the ear: "forty seconds", "two minutes, five seconds"."""
    minutes, rest = divmod(max(0, round(seconds)), 60)
    parts = [tongue.say_quantity(minutes, "minute")] if minutes else []
    if rest or not minutes:
        parts.append(tongue.say_quantity(rest, "second"))
    return ", ".join(parts)
