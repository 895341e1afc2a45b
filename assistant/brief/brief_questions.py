"""Questions about this case, asked at any time: how long, who, what was agreed, and
what is known of the patient."""

from assistant.brief.clocks import ARREST_CLOCK, ATTEMPT_CLOCK, DRUGS_CLOCK
from assistant.brief.confirmed_items import PlanItem
from assistant.brief.going_on import go_on, say_since, tell
from assistant.brief.item import Standing
from assistant.brief.moment import Moment, Steps
from assistant.brief.summing_up import of_the_patient
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def clock_names(now: Moment) -> dict[str, str]:
    """How the clocks that every site has are called; any other by its own name."""
    terms = now.tongue.terms
    return {
        ATTEMPT_CLOCK: terms.attempt_clock,
        DRUGS_CLOCK: terms.drugs_clock,
        ARREST_CLOCK: terms.arrest_clock,
    }


def elapsed(now: Moment, _: Reading) -> Steps:
    """How long each clock has run, and how long the item that is asked has taken."""
    known, names = now.case.known, clock_names(now)
    timed = [
        (names.get(name, name), None if clock.unknown else clock.started_s)
        for name, clock in known.clocks.items()
        if not clock.ended
    ]
    if now.case.current is not None:
        timed.append((now.case.current.label, known.asked_s))
    for what, since_s in timed:
        if since_s is None:
            text = filled(now.says.elapsed_unknown, what=what)
        else:
            time = say_since(now, since_s)
            text = filled(now.says.elapsed, what=what, time=time)
        yield Line(text, "elapsed")
    if not timed:
        yield Line(now.says.elapsed_nothing, "elapsed")
    yield from go_on(now)


def who(now: Moment, reading: Reading) -> Steps:
    """Who has taken a task; where several items ask for it, as before each attempt, by the last."""
    item, known = now.case.item(str(reading.values["task"])), now.case.known
    alike = [one.id for one in now.case.brief.items() if one.label == item.label]
    named = [one for one in known.trail if one in alike and known.items[one].answer is not None]
    answer = known.items[named[-1] if named else item.id].answer
    if answer is None:
        yield Line(filled(now.says.who_unknown, task=item.label), "who")
    else:
        yield Line(filled(now.says.who, task=item.label, who=answer), "who")
    yield from go_on(now)


def plan(now: Moment, _: Reading) -> Steps:
    """Every plan of the brief, as it is read aloud; an open one is said to be open."""
    plans = [item for item in now.site.brief.items() if isinstance(item, PlanItem)]
    for item in plans:
        agreed = now.case.standing(item) is Standing.DONE
        says = now.says.plan if agreed else now.says.plan_open
        yield Line(filled(says, plan=" ".join(item.read_aloud)), "plan")
    if not plans:
        yield Line(now.says.no_plan, "plan")
    yield from go_on(now)


def patient(now: Moment, _: Reading) -> Steps:
    """What is known of the patient, for whoever asks for any of it."""
    yield from tell(now, Line(" ".join(of_the_patient(now)), "patient"))
