"""Going on: back to what was open, or to the next item."""

from assistant.brief.agenda import label, next_item, section_of, to_name, unanswered
from assistant.brief.items import AnyItem, Phase, TimedItem
from assistant.brief.known import Standing
from assistant.brief.prompts import prompt, question, say_time
from assistant.brief.situation import Desk, Happening, Steps
from assistant.brief.states import State
from assistant.speaking.mouth import Line, Urgency


def go_on(desk: Desk) -> Steps:
    """Back to what was open: say its prompt, or ask the next item."""
    line = prompt(desk)
    if line is not None:
        yield line
    elif desk.case.state is State.ASKING:
        yield from ask_next(desk)


def ask_next(desk: Desk) -> Steps:
    item = next_item(desk.case)
    if item is not None:
        yield from ask(desk, item)
        return
    running = desk.case.with_standing(Standing.RUNNING)
    if running and isinstance(running[0], TimedItem):
        yield Line(desk.filled(desk.says.clock_left, clock=running[0].clock), "clock-left")
        return
    left = unanswered(desk.case)
    before = desk.case.known.phase is Phase.BEFORE
    yield Happening(
        "phase-done",
        f"brief {desk.case.known.phase.value}: {len(left)} open",
        values={"open_items": [one.id for one in left]},
    )
    says = desk.says
    if left:
        text = says.before_done_open if before else says.after_done_open
        text = desk.filled(text, count=desk.say(len(left)), items=to_name(left, desk.tongue))
    else:
        text = says.before_done if before else says.after_done
    yield Line(text, "phase-done")


def ask(desk: Desk, item: AnyItem) -> Steps:
    case = desk.case
    same_person = bool(case.known.trail) and (
        section_of(case.brief, case.known.trail[-1]) is section_of(case.brief, item.id)
    )
    text = question(desk, item)
    if case.known.items[item.id].standing in (Standing.DEFERRED, Standing.OUTSTANDING):
        text = desk.filled(desk.says.ask_again, ask=text)
    if not same_person:
        to = section_of(case.brief, item.id).to
        text = desk.filled(desk.says.ask, to=to, ask=text)
    yield Happening("asked", label(item), item.id, values={"item": item.id})
    yield Line(text, "ask", item.id, Urgency.ASK)


def run_clock(desk: Desk, item: TimedItem, lasts_s: int) -> Steps:
    yield Happening(
        "clock-started",
        f"{item.clock}: {lasts_s} s",
        item.id,
        "clock",
        {"clock": item.clock, "lasts_s": lasts_s},
    )
    lasts = say_time(lasts_s, desk.tongue)
    yield Line(
        desk.filled(desk.says.clock_started, clock=item.clock, lasts=lasts), "clock", item.id
    )


def count(clock: str) -> Steps:
    yield Happening(
        "clock-started",
        f"{clock}: counting",
        None,
        "clock",
        {"clock": clock, "lasts_s": None},
    )


def stop_counting(clock: str) -> Steps:
    yield Happening("clock-ended", f"{clock}: stopped", None, "clock", {"clock": clock})
