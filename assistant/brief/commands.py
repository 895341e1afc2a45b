"""Questions about the brief, and commands to it."""

from assistant.brief.agenda import label, to_name, unanswered
from assistant.brief.going_on import ask, ask_next, go_on
from assistant.brief.items import AnyItem
from assistant.brief.known import Standing
from assistant.brief.situation import Desk, Happening, Steps
from assistant.brief.states import State
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line


def why(desk: Desk, _: Reading) -> Steps:
    item = desk.case.current
    if item is not None:
        yield Line(item.why, "why", item.id)
        yield from go_on(desk)


def repeat(desk: Desk, _: Reading) -> Steps:
    yield from go_on(desk)


def back(desk: Desk, _: Reading) -> Steps:
    trail = desk.case.known.trail
    if not trail:
        yield Line(desk.says.no_way_back, "no-way-back")
        yield from go_on(desk)
        return
    yield from reopen(desk, desk.case.item(trail[-1]))


def reopen(desk: Desk, item: AnyItem) -> Steps:
    yield Happening("reopened", f"{label(item)}: asked again", item.id, values={"item": item.id})
    yield from ask(desk, item)


def left(desk: Desk, _: Reading) -> Steps:
    left = unanswered(desk.case)
    if left:
        items = to_name(left, desk.tongue)
        yield Line(desk.filled(desk.says.left, count=desk.say(len(left)), items=items), "left")
    else:
        yield Line(desk.says.nothing_left, "left")
    yield from go_on(desk)


def hold(desk: Desk, _: Reading) -> Steps:
    yield Happening("held", "held")
    yield Line(desk.says.held, "held")


def stop(desk: Desk, _: Reading) -> Steps:
    yield Happening("held", "stopped")
    yield Line(desk.says.stopped, "stopped")


def resume(desk: Desk, _: Reading) -> Steps:
    yield Happening("resumed", "resumed")
    yield Line(desk.says.resumed, "resumed")
    yield from go_on(desk)


def end_case(desk: Desk, _: Reading) -> Steps:
    yield Happening("closing", "asked back whether to end the case")
    yield from go_on(desk)


def start(desk: Desk, _: Reading) -> Steps:
    """The first item; or, once a phase is done, what is still open of it."""
    outstanding = desk.case.with_standing(Standing.OUTSTANDING)
    if desk.case.state is State.READY and outstanding:
        yield from ask(desk, outstanding[0])
    else:
        yield from ask_next(desk)


def go_now(desk: Desk, _: Reading) -> Steps:
    left = unanswered(desk.case)
    yield Happening(
        "went-now", "the patient cannot wait", values={"open_items": [i.id for i in left]}
    )
    if left:
        items = to_name(left, desk.tongue, len(left))
        yield Line(desk.filled(desk.says.went_now, items=items), "went-now")
    else:
        yield Line(desk.says.went_now_nothing, "went-now")
