"""Questions about this case, asked at any time: how long, who, and what was agreed."""

from assistant.brief.agenda import label
from assistant.brief.attempt import ATTEMPT_CLOCK, DRUGS_CLOCK
from assistant.brief.going_on import go_on
from assistant.brief.items import PlanItem
from assistant.brief.known import Standing
from assistant.brief.situation import Desk, Steps
from assistant.grammar.readings import Reading
from assistant.language.tongue import ENGLISH, Tongue
from assistant.speaking.mouth import Line


def elapsed(desk: Desk, _: Reading) -> Steps:
    """How long each clock has run, and how long the item that is asked has taken."""
    known, terms = desk.case.known, desk.tongue.terms
    names = {ATTEMPT_CLOCK: terms.attempt_clock, DRUGS_CLOCK: terms.drugs_clock}
    timed = [
        (names.get(name, name), None if clock.unknown else clock.started_s)
        for name, clock in known.clocks.items()
        if not clock.ended
    ]
    if desk.case.current is not None:
        timed.append((label(desk.case.current), known.asked_s))
    for what, since_s in timed:
        if since_s is None:
            text = desk.filled(desk.says.elapsed_unknown, what=what)
        else:
            time = say_elapsed(desk.present.now_s - since_s, desk.tongue)
            text = desk.filled(desk.says.elapsed, what=what, time=time)
        yield Line(text, "elapsed")
    if not timed:
        yield Line(desk.says.elapsed_nothing, "elapsed")
    yield from go_on(desk)


def who(desk: Desk, reading: Reading) -> Steps:
    item = desk.case.item(str(reading.values["task"]))
    answer = desk.case.known.items[item.id].answer
    if answer is None:
        yield Line(desk.filled(desk.says.who_unknown, task=label(item)), "who")
    else:
        yield Line(desk.filled(desk.says.who, task=label(item), who=answer), "who")
    yield from go_on(desk)


def plan(desk: Desk, _: Reading) -> Steps:
    """Every plan of the brief, as it is read aloud; an open one is said to be open."""
    plans = [item for item in desk.site.brief.items() if isinstance(item, PlanItem)]
    for item in plans:
        agreed = desk.case.known.items[item.id].standing is Standing.DONE
        says = desk.says.plan if agreed else desk.says.plan_open
        yield Line(desk.filled(says, plan=" ".join(item.read_aloud)), "plan")
    if not plans:
        yield Line(desk.says.no_plan, "plan")
    yield from go_on(desk)


def say_elapsed(seconds: float, tongue: Tongue = ENGLISH) -> str:
    """Elapsed time for the ear: "forty seconds", "two minutes, five seconds"."""
    minutes, rest = divmod(max(0, round(seconds)), 60)
    parts = [tongue.say_quantity(minutes, "minute")] if minutes else []
    if rest or not minutes:
        parts.append(tongue.say_quantity(rest, "second"))
    return ", ".join(parts)
