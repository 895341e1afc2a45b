"""Between attempts: the saturation that is bagged up, until it is back or given up."""

from assistant.brief.agenda import next_item
from assistant.brief.events.asking import Deferred
from assistant.brief.events.course import ClockStarted
from assistant.brief.going_on import ask_next
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.valued_items import OxygenItem
from assistant.speaking.mouth import Line


def bag_on(
    now: Moment, item: OxygenItem, told: float | None = None, *, hopeless: bool = False
) -> Steps:
    """It is not back: bag on, and it is asked again when its clock ends; or it is given up, after a
    while or where somebody says that it does not come back.

    `told`: what it is, where somebody told that.
    """
    given_up = hopeless or _has_taken_too_long(now, item)
    what = "given up" if given_up else "bag on"
    deferred = Deferred(item=item.id, left_open=given_up, told=told)
    yield Happened(deferred, f"{item.label}: not back, {what}", item.id)
    if not given_up:
        started = ClockStarted(clock=item.clock, lasts_s=item.again_after_s)
        yield Happened(started, f"{item.clock}: {item.again_after_s} s", item.id)
        yield Line(item.keep_on, "bag-on", item.id)
    elif next_item(now.case) is not None:  # else it is said when all of the phase is done
        yield Line(now.site.brief.attempts.oxygen_not_back, "not-back", item.id)
    yield from ask_next(now)


def _has_taken_too_long(now: Moment, item: OxygenItem) -> bool:
    """Since something failed, or came out, and the bag went on."""
    return now.present.now_s - now.case.known.phase_began_s >= item.gives_up_after_s
