"""What the page shows at one moment, in the order in which it is looked at."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from assistant.brief.agenda import unanswered
from assistant.brief.case import Case
from assistant.brief.clocks import ARREST_CLOCK, ATTEMPT_CLOCK, DRUGS_CLOCK, CaseClock
from assistant.brief.item import PUT_OFF, Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Moment
from assistant.brief.prompts import prompt, unit_of
from assistant.brief.states import State
from assistant.brief.valued_items import NumberItem
from assistant.glance.case_reader import CaseInHand
from assistant.glance.settings import GlanceWords
from assistant.glance.watcher_line import Kind, SeenSaturation
from assistant.language.tongue import exactly
from assistant.site.site import Site

MOST_CLOCKS = 4


class Mark(Enum):
    """The symbol in the upper part of the page."""

    ASKED = "asked"
    """An item is being asked."""
    READ_BACK = "read-back"
    """Something was read back, or asked back, and awaits a yes or no."""
    OPEN = "open"
    """Items that are still open."""
    DONE = "done"
    WAITING = "waiting"
    HOLDING = "holding"
    ATTEMPT = "attempt"
    IDLE = "idle"
    """Between cases."""
    FAULT = "fault"


@dataclass(frozen=True, slots=True)
class Headline:
    """The upper part: one symbol, one short line, and what it is about."""

    mark: Mark
    title: str
    text: str = ""
    listed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ShownClock:
    """One clock."""

    name: str
    time: str
    known: bool = True


@dataclass(frozen=True, slots=True)
class ShownSaturation:
    """The saturation, or why there is none, and the level at which it is called."""

    kind: str
    """The value of a `watcher_line.Kind`."""
    figure: str
    threshold: str


@dataclass(frozen=True, slots=True)
class View:
    """The whole page; None for a part that is not shown now."""

    headline: Headline
    saturation: ShownSaturation | None = None
    clocks: tuple[ShownClock, ...] = ()
    left: str | None = None
    not_yet: str = ""


def idle_view(site: Site, words: GlanceWords, seen: SeenSaturation, *, listened: bool) -> View:
    """Between cases: how to open one, and the saturation when there is one."""
    opens = words.say.format(words=site.wording.may_be_said.new_case[0])
    headline = (
        Headline(Mark.IDLE, words.between_cases, opens)
        if listened
        else Headline(Mark.FAULT, words.nobody_listens)
    )
    return View(headline, None if seen.percent is None else _saturation(seen, words))


def fault_view(words: GlanceWords, seen: SeenSaturation) -> View:
    """The record of the case at hand cannot be read."""
    return View(Headline(Mark.FAULT, words.unreadable), _saturation(seen, words))


def case_view(
    now: CaseInHand, words: GlanceWords, seen: SeenSaturation, mono_s: float, *, listened: bool
) -> View:
    """In a case; `mono_s` is the machine's monotonic clock."""
    left = unanswered(now.case, with_earlier=True)
    declined = now.case.with_standing(*PUT_OFF)
    now_s = now.now_s(mono_s)
    headline = (
        _headline(now, words, now_s) if listened else Headline(Mark.FAULT, words.nobody_listens)
    )
    return View(
        headline,
        _saturation(seen, words),
        clocks=tuple(_clocks(now, words, now_s))[:MOST_CLOCKS],
        left=str(len(left)),
        not_yet=words.not_yet.format(count=len(declined)) if declined else "",
    )


def _saturation(seen: SeenSaturation, words: GlanceWords) -> ShownSaturation:
    instead = {Kind.NONE: words.no_saturation, Kind.UNWATCHED: words.nobody_watches}
    if seen.percent is None:  # then nothing can be called either
        return ShownSaturation(seen.kind.value, instead[seen.kind], "")
    level = words.low if seen.kind is Kind.LOW else words.called_at
    told = level.format(threshold=seen.threshold_percent)
    return ShownSaturation(seen.kind.value, str(seen.percent), told)


def _headline(now: CaseInHand, words: GlanceWords, now_s: float | None) -> Headline:
    case, state = now.case, now.case.state
    if state is State.ASKING:
        return _asking(case, words)
    if state is State.OPENED:
        return Headline(Mark.WAITING, words.opened, case.brief.name)
    if state is State.HELD:
        held = case.current
        return Headline(Mark.HOLDING, words.holding, "" if held is None else _question(case, held))
    if state is State.ATTEMPTING:
        title = words.attempt.format(number=len(case.known.attempts))
        clock = case.known.clocks.get(ATTEMPT_CLOCK)
        time = "" if clock is None else _clock(ATTEMPT_CLOCK, clock, now_s, words).time
        return Headline(Mark.ATTEMPT, title, time)
    awaits = prompt(Moment(now.site, case))
    if awaits is not None:
        title = "" if awaits.tag == "digits" else words.yes_or_no
        return Headline(Mark.READ_BACK, title, _in_figures(now) or awaits.text)
    return _open(case, words)


def _asking(case: Case, words: GlanceWords) -> Headline:
    item = case.current
    if item is None:
        running = case.with_standing(Standing.RUNNING)
        text = (running[0].waits_for if running else None) or ""
        return Headline(Mark.WAITING, words.waiting, text)
    return Headline(Mark.ASKED, case.section_of(item.id).to, _question(case, item))


def _question(case: Case, item: AnyItem) -> str:
    """The item's question, without what is read aloud before it."""
    return item.question_shown(due=case.standing(item) is Standing.DUE)


def _in_figures(now: CaseInHand) -> str:
    """A number that was read back: from afar, 17 is told from 70 better than its words are."""
    case = now.case
    known, item = case.known, case.current
    if case.state is State.CHECKING and known.pending is not None and isinstance(item, NumberItem):
        return f"{exactly(float(known.pending.value))} {item.unit}?"
    fact = known.fact
    if case.state is State.STATING and fact is not None and fact.value is not None:
        unit = unit_of(now.site.wording.tongue, fact.figure)
        return f"{fact.value} {unit}?" if unit else ""
    return ""


def _open(case: Case, words: GlanceWords) -> Headline:
    names = tuple(item.label for item in unanswered(case, with_earlier=True))
    if not names:
        return Headline(Mark.DONE, words.nothing_left)
    return Headline(Mark.OPEN, words.still_open, listed=names)


def _clocks(now: CaseInHand, words: GlanceWords, now_s: float | None) -> Iterator[ShownClock]:
    """The clocks that run, the latest first, then the case's own."""
    terms = now.site.wording.tongue.terms
    called = {
        ATTEMPT_CLOCK: terms.attempt_clock,
        DRUGS_CLOCK: terms.drugs_clock,
        ARREST_CLOCK: terms.arrest_clock,
    }
    known = now.case.known.clocks.items()
    running = [(name, clock) for name, clock in known if not clock.ended]
    for name, clock in sorted(running, key=lambda one: one[1].started_s, reverse=True):
        yield _clock(called.get(name, name), clock, now_s, words)
    opened = CaseClock(words.case, now.meta.started_mono_s, None, unknown=now.rebooted)
    yield _clock(words.case, opened, now_s, words)


def _clock(name: str, clock: CaseClock, now_s: float | None, words: GlanceWords) -> ShownClock:
    if clock.unknown or now_s is None:
        return ShownClock(name, words.clock_unknown, known=False)
    seconds = max(0, int(now_s - clock.started_s))
    return ShownClock(name, f"{seconds // 60}:{seconds % 60:02d}")
