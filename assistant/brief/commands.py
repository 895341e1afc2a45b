"""Questions about the brief, and commands to it."""

from assistant.brief.agenda import still_to_ask, to_name, unanswered
from assistant.brief.confirmed_items import PaceItem
from assistant.brief.dose_questions import DOSES, dose_question
from assistant.brief.doses_awaited import await_dose
from assistant.brief.events.asides import FactHeard, Held, NoDoseAwaited, Resumed
from assistant.brief.events.asking import BriefChosen, Reopened, ValueRefused, WentNow
from assistant.brief.events.course import Entered, FormChosen, Marked, PacingStopped
from assistant.brief.events.vital import TakenBack
from assistant.brief.going_on import (
    ask,
    ask_next,
    enter,
    go_on,
    go_on_with_what_opened,
    tell,
)
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import RETURNING, Phase
from assistant.brief.prompts import question
from assistant.brief.seen import not_so_any_more
from assistant.brief.states import State
from assistant.brief.summing_up import MOST_NAMED, sum_up, vital_of
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.sentences import filled


def why(now: Moment, _: Reading) -> Steps:
    """Why the item is asked."""
    item = now.case.current
    if item is not None:
        yield from tell(now, Line(item.why, "why", item.id))


def repeat(now: Moment, _: Reading) -> Steps:
    """What was asked for last, if nothing was said since, and what awaits an answer."""
    yield from now.present.told
    if now.case.state is State.PAUSING:
        yield from not_so_any_more(now)
        yield from sum_up(now)
    else:
        yield from go_on(now, whole=not now.present.told)


def back(now: Moment, _: Reading) -> Steps:
    """What turned the case just now was not meant, nor the figure that led to it; else the item
    that was settled last is asked again. No dose is waited for any more."""
    known, turn = now.case.known, now.present.turn
    if turn is not None and turn.before.is_recent(now.present.now_s, now.case.state):
        yield Happened(TakenBack(), f"taken back, not meant: {turn.words}")
        text = filled(now.says.taken_back_named, words=turn.words)
        yield Line(text if turn.words else now.says.taken_back, "taken-back")
        yield from _await_no_dose(now)
        answered = None if turn.answered is None else now.case.item(turn.answered)
        if answered is not None and answered.figure is not None:
            yield from _reopen(now, answered)
        else:
            yield from go_on(now)
        return
    if now.case.state in (State.ATTEMPTING, State.HELD):
        return  # it was said to somebody else
    if turn is not None or now.present.taken_back:
        yield from tell(now, Line(now.says.not_taken_back, "taken-back"))
        return
    trail = [one for one in known.trail if now.case.is_of_this_phase(one)]
    if not trail:
        yield from tell(now, Line(now.says.no_way_back, "no-way-back"))
        return
    yield from _await_no_dose(now)
    yield from _reopen(now, now.case.item(trail[-1]))


def _await_no_dose(now: Moment) -> Steps:
    if now.case.known.doses_awaited:
        yield Happened(NoDoseAwaited(), "no dose is waited for any more")


def _reopen(now: Moment, item: AnyItem) -> Steps:
    if isinstance(item, PaceItem) and now.case.known.pacing:
        yield Happened(PacingStopped(), "pacing stopped")
    yield Happened(Reopened(item=item.id), f"{item.label}: asked again", item.id)
    yield from ask(now, item)


def left(now: Moment, _: Reading) -> Steps:
    """What is still open, by name."""
    left = unanswered(now.case, with_earlier=True)
    if left:
        items = to_name(left, now.tongue)
        yield Line(filled(now.says.left, count=now.say(len(left)), items=items), "left")
    else:
        yield Line(now.says.nothing_left, "left")
    yield from go_on(now)


def hold(now: Moment, _: Reading) -> Steps:
    """Nothing is asked until somebody says to go on."""
    yield Happened(Held(), "held")
    yield from go_on(now)


def stop(now: Moment, _: Reading) -> Steps:
    """The same, and nobody is reminded of it."""
    yield Happened(Held(quiet=True), "stopped")
    yield Line(now.says.stopped, "stopped")


def resume(now: Moment, _: Reading) -> Steps:
    """Back to what was open."""
    yield Happened(Resumed(), "resumed")
    yield Line(now.says.resumed, "resumed")
    yield from go_on_with_what_opened(now)  # by what was told in the hold


def ask_what_stands(now: Moment, reading: Reading) -> Steps:
    """What was asked comes first; whoever has said something else says it again after that, but
    for a dose, which is waited for."""
    if reading.meaning in DOSES:
        yield from await_dose(dose_question(reading))
    yield from go_on(now)


def start(now: Moment, _: Reading) -> Steps:
    """The first item; or, once a phase is done, what is still open of it."""
    outstanding = now.case.with_standing(Standing.OUTSTANDING)
    if now.case.state is State.READY and outstanding:
        yield from ask(now, outstanding[0])
    elif _before_is_open(now):
        yield Happened(Entered(phase=Phase.BEFORE), "back to what is open before the attempt")
        yield from start(now, _)
    else:
        yield from ask_next(now)


def choose_brief(now: Moment, reading: Reading) -> Steps:
    """Another of the site's briefs; what was answered stays answered, what was put off stays open.

    Once a tube or a rescue airway is in, or a rescue runs, there is nothing to prepare.
    """
    case, known = now.case, now.case.known
    chosen = case.brief.choice(str(reading.values["brief"]))
    too_late = chosen is not None and chosen.breathing and known.drugs_are_in
    if chosen is None or too_late or known.phase not in RETURNING:
        yield from go_on(now)
        return
    if case.state is State.CHECKING:
        yield Happened(ValueRefused(), "another brief before its yes")
    yield Happened(BriefChosen(brief=chosen.id), f"brief: {chosen.called}")
    yield Line(filled(now.says.brief_chosen, brief=chosen.called), "brief")
    if case.state is not State.OPENED and not still_to_ask(case, Phase.BEFORE):
        yield from go_on(now)
    elif known.phase is Phase.BEFORE:
        yield from ask_next(now)
    else:
        yield from enter(now, Phase.BEFORE)


def _before_is_open(now: Moment) -> bool:
    """Whether something is open before the attempt, and the phase in hand has nothing to ask."""
    case, phase = now.case, now.case.known.phase
    elsewhere = case.state is State.READY and phase in RETURNING and phase is not Phase.BEFORE
    return elsewhere and bool(unanswered(case, with_earlier=True))


def go_now(now: Moment, reading: Reading) -> Steps:
    """The patient cannot wait: say how many are open and name the vital ones; all stay open.

    Of an attempt that runs already nothing is to be begun: it goes on.
    """
    if now.case.known.attempt is not None:
        yield from resume(now, reading) if now.case.state is State.HELD else go_on(now)
        return
    left = unanswered(now.case, with_earlier=True)
    item, pending = now.case.current, now.case.known.pending
    yield Happened(WentNow(open_items=[item.id for item in left]), "the patient cannot wait")
    vital = vital_of(left)
    count = now.say(len(left))
    if vital:
        items = to_name(vital, now.tongue, MOST_NAMED)
        yield Line(filled(now.says.went_now, count=count, items=items), "went-now")
    elif left:
        yield Line(filled(now.says.went_now_few, count=count), "went-now")
    else:
        yield Line(now.says.went_now_nothing, "went-now")
    if item is not None and item.figure is not None and pending is not None:
        fact = FactHeard(figure=item.figure, value=pending.value, spoken=pending.spoken)
        yield Happened(fact, f"{item.label}, once more: {pending.spoken}?", item.id)
        yield from go_on(now)
    elif now.case.known.interrupted:
        yield from go_on(now)


def what_to_say(now: Moment, _: Reading) -> Steps:
    """What may be said, in one breath."""
    briefs = now.case.brief.briefs[1:]
    text = now.says.help
    if now.case.state is State.OPENED and briefs:
        names = ", ".join(one.said[0] for one in briefs)
        start = now.site.wording.may_be_said.start[0]
        text = filled(now.says.help_briefs, start=start, briefs=names)
    yield from tell(now, Line(text, "help"))


def short_form(now: Moment, _: Reading) -> Steps:
    """Items are asked in few words from now on."""
    yield from _choose_form(now, long=False)


def long_form(now: Moment, _: Reading) -> Steps:
    """Items are asked in full from now on."""
    yield from _choose_form(now, long=True)


def _choose_form(now: Moment, *, long: bool) -> Steps:
    yield Happened(FormChosen(long=long), f"questions in {'full' if long else 'few words'}")
    yield Line(now.says.long_form if long else now.says.short_form, "form")
    item = now.case.current
    if now.case.state is State.ASKING and item is not None:
        text = question(now, item, short=now.short)
        yield Line(text, "ask", item.id, Urgency.ASK)
    else:
        yield from go_on(now)


def mark(now: Moment, reading: Reading) -> Steps:
    """The moment is marked for the debrief; whatever is being asked is still awaited."""
    yield Happened(Marked(), reading.text)
    if now.case.state is not State.HELD:
        yield Line(now.says.marked, "marked", now.case.known.current)
