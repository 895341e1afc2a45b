"""Going on: back to what was open, or to the next item."""

from collections.abc import Sequence

from assistant.brief.agenda import (
    has_opened,
    leaves_breathing,
    next_item,
    still_to_ask,
    timed,
    to_name,
    unanswered,
)
from assistant.brief.case import Case
from assistant.brief.confirmed_items import PlanItem, TimedItem
from assistant.brief.events.asides import FactHeard
from assistant.brief.events.asking import Asked, PhaseDone, ValueHeard
from assistant.brief.events.course import (
    ClockEnded,
    ClockStarted,
    Entered,
    PatientDoubted,
    PatientSettled,
)
from assistant.brief.events.vital import DoubtSettled, TakenUp
from assistant.brief.item import PUT_OFF, Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import RETURNING, Phase
from assistant.brief.prompts import prompt, question, say_elapsed, say_time
from assistant.brief.seen import not_so_any_more
from assistant.brief.states import State
from assistant.brief.summing_up import begin_pause, leave_pause
from assistant.brief.unsettled import Fact
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.sentences import filled

_ENDS_A_WAY = (Phase.SUPRAGLOTTIC_IN, Phase.NECK_OPEN, Phase.WAKE_UP)
"""Nothing is to be said next after these, so that it is said when all of them is done."""
_RESCUES = (Phase.SUPRAGLOTTIC, Phase.SUPRAGLOTTIC_IN, Phase.FRONT_OF_NECK, Phase.NECK_OPEN)
_WAITING = (State.OPENED, State.ASKING, State.PAUSING, State.READY)
"""Where what was interrupted comes again."""


def go_on(now: Moment, *, whole: bool = False) -> Steps:
    """Back to what was open: say its prompt, or ask the next item; `whole` with what is read aloud
    before that.

    An aside that a vital word interrupted is taken up again first. What was told, and not settled
    before something else came in between, is read back again; then come the items whose asking a
    vital word broke off.
    """
    if now.case.known.drugs_are_in and _has_passed_over_induction(now):
        if now.case.state is State.PAUSING:
            yield from leave_pause()
        yield from enter(now, Phase.INDUCTION)
        return
    if _wave_is_due(now):
        yield from ask_on(now)
        return
    if _patient_is_open(now):
        yield from ask_same_patient(now)
        return
    if _was_laid_aside(now):
        yield Happened(TakenUp(), "taken up again")
    elif now.case.state in _WAITING:
        yield from _told_before(now)
    line = None if _is_idle(now) else prompt(now, whole=whole)
    if line is not None:
        yield line
    elif now.case.state is State.ASKING or _was_broken_off(now):
        yield from ask_next(now)


def _is_idle(now: Moment) -> bool:
    """Whether what is asked is not asked of this patient, by what was told meanwhile."""
    item = now.case.current
    return now.case.state is State.ASKING and item is not None and not now.case.applies(item)


def tell(now: Moment, line: Line) -> Steps:
    """Say something, and go on."""
    yield line
    yield from go_on(now)


def ask_same_patient(now: Moment) -> Steps:
    """Ask whether a case that was cut short is still of the same patient, before all else of it.

    A vital word that was asked back before that is asked back again after it.
    """
    doubt, asked_back = now.case.known.doubt, now.case.known.asked_back
    if now.case.state is State.DOUBTING:
        asked_back = None if doubt is None else doubt.word
        yield Happened(DoubtSettled(confirmed=False), "cut short before an answer")
    asked = now.case.state is State.IDENTIFYING
    cut_short_in = now.case.known.cut_short_in if asked else None
    doubted = PatientDoubted(cut_short_in=cut_short_in or now.case.state, asked_back=asked_back)
    yield Happened(doubted, "the same patient?")
    yield from go_on(now)


def leave_patient_open(now: Moment) -> Steps:
    """What counts at once, whoever the patient is, was said in place of an answer to that: it is
    asked again."""
    if now.case.state is State.IDENTIFYING:
        yield Happened(PatientSettled(same=False), "something else came first")


def go_on_with_drugs_in(now: Moment) -> Steps:
    """Somebody has said that they are: where nothing else is open, what comes once they are."""
    if now.case.state is State.READY and now.case.known.phase is Phase.BEFORE:
        yield from enter(now, Phase.INDUCTION)
    else:
        yield from go_on(now)


def go_on_with_what_opened(now: Moment) -> Steps:
    """Something was told: ask the items that it opened, where all before the drugs was done; after
    what was told before it and still awaits its yes."""
    first = now.case.known.interrupted or not has_opened(now.case)
    yield from go_on(now) if first else ask_next(now)


def _patient_is_open(now: Moment) -> bool:
    """Whether something came before an answer to that; but who is in the midst of an intubation is
    asked again before a dose only."""
    known = now.case.known
    prepares = now.case.state in _WAITING and known.phase is Phase.BEFORE
    return known.patient_in_doubt and prepares and not known.has_begun


def _wave_is_due(now: Moment) -> bool:
    """Whether its time has come while something else was going on, as in a hold."""
    due = [one for one in timed(now.case, Standing.DUE) if one.asked_at_once]
    asks = now.case.state in (State.ASKING, State.READY)
    return asks and bool(due) and now.case.current not in due


def _was_laid_aside(now: Moment) -> bool:
    """Whether an aside comes again; not before what a rescue asks, nor before the wave that was due
    and is being asked."""
    case, item = now.case, now.case.current
    if item is not None and item.asked_at_once and case.standing(item) is Standing.DUE:
        return False
    rescues = case.known.phase in (Phase.BETWEEN, *_RESCUES) and still_to_ask(
        case, case.known.phase
    )
    return case.state in _WAITING and case.known.laid_aside is not None and not rescues


def _was_broken_off(now: Moment) -> bool:
    known = now.case.known
    back = now.case.state is State.READY and known.phase in RETURNING
    return back and known.broken_off and still_to_ask(now.case, Phase.BEFORE)


def _told_before(now: Moment) -> Steps:
    """A fact first; the answer to the item that is asked after it."""
    known, item = now.case.known, now.case.current
    pending = known.pending
    if known.interrupted:
        yield from read_again(known.interrupted[0])
    elif pending is not None and item is not None and now.case.state is State.ASKING:
        heard = ValueHeard(value=pending.value, spoken=pending.spoken)
        yield Happened(heard, f"{item.label}, once more: {pending.spoken}?", item.id)


def read_again(fact: Fact) -> Steps:
    """A fact that is not settled is read back once more."""
    again = FactHeard(figure=fact.figure, value=fact.value, spoken=fact.spoken)
    yield Happened(again, f"{fact.figure.replace('_', ' ')}, once more: {fact.spoken}?")


def ask_next(now: Moment) -> Steps:
    """Ask the next item, after what was laid aside; when there is none, wait for a clock, or say
    what is left open.
    """
    if _was_laid_aside(now):
        yield from go_on(now)
    elif _was_broken_off(now):
        yield from enter(now, Phase.BEFORE)
    else:
        yield from ask_on(now)


def enter(now: Moment, phase: Phase) -> Steps:
    """Another phase begins: ask its items; a phase without any leaves what was open."""
    yield Happened(Entered(phase=phase), f"phase: {phase.value.replace('-', ' ')}")
    if still_to_ask(now.case, phase):
        yield from ask_on(now)
    else:
        yield from go_on(now)


def ask_on(now: Moment) -> Steps:
    """Ask the next item, whatever was laid aside: what has just happened goes before that."""
    item = next_item(now.case)
    if item is not None:
        yield from ask(now, item)
        return
    running = timed(now.case, Standing.RUNNING) if _waits(now) else []
    if running:
        if isinstance(running[0], TimedItem) and not now.case.known.is_arrested:
            yield Line(filled(now.says.clock_left, clock=running[0].clock), "clock-left")
        return  # who bags knows what is waited for, and in an arrest nothing is
    phase = now.case.known.phase
    if phase is Phase.BEFORE and now.case.state is State.ASKING:
        yield from not_so_any_more(now)
    left = unanswered(now.case)
    done = PhaseDone(open_items=[one.id for one in left])
    yield Happened(done, f"brief {phase.value}: {len(left)} open")
    drugs_in = now.case.known.drugs_are_in
    if phase is Phase.BEFORE and now.case.brief.pause_before_drugs and not drugs_in:
        yield from begin_pause(now)
        return
    yield from _told_done(now, left)
    if phase is Phase.BEFORE and drugs_in and _was_never_asked(now, Phase.INDUCTION):
        yield from enter(now, Phase.INDUCTION)
    if _was_broken_off(now):
        yield from ask_next(now)


def _has_passed_over_induction(now: Moment) -> bool:
    """Whether drugs went in at the pause or once all was asked, while something else was open: a
    hold, or a word that was asked back."""
    if now.case.state is State.PAUSING:
        return True
    done = now.case.state is State.READY and now.case.known.phase is Phase.BEFORE
    return done and _was_never_asked(now, Phase.INDUCTION)


def _was_never_asked(now: Moment, phase: Phase) -> bool:
    """Of a phase before the first attempt: whether it was passed over, as drugs went in early."""
    known = now.case.known
    asked = [known.items[one.id].asked_times for one in now.case.brief.items_of(phase)]
    return not known.attempts and not any(asked)


def _waits(now: Moment) -> bool:
    """Whether clocks that run are waited for: not in a brief that leaves no time for it."""
    choice = now.case.brief.choice(now.case.known.brief)
    return now.case.known.phase is not Phase.BEFORE or choice is None or choice.waits


def _told_done(now: Moment, left: Sequence[AnyItem]) -> Steps:
    """That was all of a phase, what of it is open, and what to say next."""
    says, plan, phase = now.says, now.site.brief.attempts, now.case.known.phase
    no_drugs_next = leaves_breathing(now.case) or now.case.known.drugs_are_in
    whole = {
        Phase.BEFORE: (says.before_done_no_drugs, says.before_done_no_drugs_open)
        if no_drugs_next
        else (says.before_done, says.before_done_open),
        Phase.AFTER: (says.after_done, says.after_done_open),
        **dict.fromkeys(_ENDS_A_WAY, (says.nothing_left, says.left)),
    }
    text, text_open = whole.get(phase, ("", says.left))
    not_back = any(one.id == plan.oxygen_back for one in left)
    named = {"count": now.say(len(left)), "items": to_name(left, now.tongue)}
    told = filled(text_open, **named) if left else text
    if not_back and len(left) == 1:
        told = ""  # the next sentence names it
    then = {
        Phase.BETWEEN: plan.oxygen_not_back if not_back else plan.ready,
        Phase.SUPRAGLOTTIC: plan.say_when_in,
        Phase.FRONT_OF_NECK: plan.say_when_in,
    }.get(phase, "")
    for one in filter(None, (told, then)):
        yield Line(one, "phase-done")


def ask(now: Moment, item: AnyItem) -> Steps:
    """Ask an item, and say whom it is put to where that changes."""
    case = now.case
    same_person = bool(case.known.trail) and (
        case.section_of(case.known.trail[-1]) is case.section_of(item.id)
    )
    text = question(now, item, short=now.short)
    if isinstance(item, PlanItem) and _was_read(case, item):
        text = item.question_shown(due=False)
    if case.standing(item) in PUT_OFF:
        text = filled(now.says.ask_again, ask=text)
    if not same_person:
        to = case.section_of(item.id).to
        text = filled(now.says.ask, to=to, ask=text)
    yield Happened(Asked(item=item.id), item.label, item.id)
    yield Line(text, "ask", item.id, Urgency.ASK)


def _was_read(case: Case, item: AnyItem) -> bool:
    """Whether it was read aloud just before, and the item before it was put right meanwhile."""
    return case.standing(item) is Standing.OPEN and case.known.items[item.id].asked_times > 0


def run_clock(now: Moment, item: TimedItem, lasts_s: int, *, again: bool = False) -> Steps:
    """Start the clock of an item, aloud; `again` because it was not so the first time."""
    yield Happened(
        ClockStarted(clock=item.clock, lasts_s=lasts_s), f"{item.clock}: {lasts_s} s", item.id
    )
    lasts = say_time(lasts_s, now.tongue)
    says = now.says.clock_again if again else now.says.clock_started
    text = filled(says, clock=item.clock, lasts=lasts)
    yield Line(text, "clock", item.id)


def count(clock: str) -> Steps:
    """Start a clock that only counts."""
    yield Happened(ClockStarted(clock=clock, lasts_s=None), f"{clock}: counting")


def stop_counting(now: Moment, clock: str) -> Steps:
    """Stop it, if it was started."""
    run = now.case.known.clocks.get(clock)
    if run is not None and not run.ended:
        yield Happened(ClockEnded(clock=clock), f"{clock}: stopped")


def say_since(now: Moment, began_s: float) -> str:
    """How long it is since that moment of the case, for the ear."""
    return say_elapsed(now.present.now_s - began_s, now.tongue)
