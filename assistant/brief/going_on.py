"""Going on: back to what was open, or to the next item."""

from assistant.brief.agenda import label, next_item, section_of, to_name, unanswered
from assistant.brief.brief import Phase
from assistant.brief.events.asides import FactHeard
from assistant.brief.events.asking import Asked, PhaseDone, ValueHeard
from assistant.brief.events.course import ClockEnded, ClockStarted
from assistant.brief.items import AnyItem, Standing, TimedItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.prompts import prompt, question, say_time
from assistant.brief.states import STATES, State
from assistant.speaking.mouth import Line, Urgency


def go_on(now: Moment) -> Steps:
    """Back to what was open: say its prompt, or ask the next item.

    What was told, and not settled before something else came in between, is read back again.
    """
    if not STATES[now.case.state].aside:
        yield from _told_before(now)
    line = prompt(now)
    if line is not None:
        yield line
    elif now.case.state is State.ASKING:
        yield from ask_next(now)


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
    """Ask the next item; when there is none, wait for a clock, or say what is left open."""
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


def stop_counting(clock: str) -> Steps:
    """Stop it."""
    yield Happened(ClockEnded(clock=clock), f"{clock}: stopped")
