"""What is found out about a case: its items, answers, calls, clocks and attempts."""

from dataclasses import dataclass

from assistant.debrief.airways import Stretch, Turn
from assistant.debrief.attempts import AttemptRun
from assistant.debrief.course import Watched
from assistant.debrief.loops import Loop
from assistant.debrief.open_items import NotComeTo, Overtaken
from assistant.debrief.regained import Response
from assistant.debrief.replayed import ToldUnasked
from assistant.debrief.scoring import Scored
from assistant.debrief.spans import Span
from assistant.debrief.timeline import Saturation


@dataclass(frozen=True, slots=True)
class Items:
    """The items of the brief, by their identifiers, in the order in which they first came up."""

    asked: tuple[str, ...]
    answered: tuple[str, ...]
    """Done: the last answer stands, and its clock is over."""
    deferred: tuple[str, ...]
    """Once at least, the answer was "not yet"."""
    unanswered: tuple[str, ...]
    """Offers that were dropped in the end because nobody had said anything to them."""
    outstanding: tuple[str, ...]
    """Asked or told, and not answered in the end."""
    waiting: tuple[str, ...]
    """Of those, the ones that were confirmed and had their clock running when the record ends."""
    overtaken: tuple[Overtaken, ...]
    """The same, of what the course of the case left behind: owed no more, and not in there."""
    not_come_to: tuple[NotComeTo, ...]
    """What nobody asked and nobody told of, where it was due; not among those left open."""

    @property
    def left_open(self) -> tuple[str, ...]:
        """What is outstanding, but for what only waits for its clock."""
        return tuple(item for item in self.outstanding if item not in self.waiting)


@dataclass(frozen=True, slots=True)
class Utterances:
    """What the microphone brought."""

    heard: int
    """Taken for something that was said to the assistant."""
    ignored: int
    doubted: int
    """Of those heard: asked back, because they were not understood for sure."""
    room_talk_s: float
    """How long those together were that were ignored."""
    during_calls: int
    """Those that were going on while the watcher spoke; who began meanwhile was not listened to."""


@dataclass(frozen=True, slots=True)
class Answers:
    """How questions were settled, by an answer or a "not yet"; an item may be asked repeatedly."""

    settled: int
    at_first_hearing: int
    """Nothing that was said between question and answer was ignored, doubted, or read back and
    refused. Room talk in between counts against it: the record cannot tell it from an answer."""
    longest_wait_s: float | None
    """From the end of the question's sound; None when nothing was settled."""
    longest_wait_item: str | None


@dataclass(frozen=True, slots=True)
class ThresholdCall:
    """One call of the watcher."""

    at_s: float | None
    kind: str | None
    text: str
    level_percent: int | None
    spo2_percent: int | None
    unheard: bool = False
    """It did not come from the watcher's loudspeaker, which was absent or failed."""
    said_instead: bool = False
    """The assistant said it in its place."""


@dataclass(frozen=True, slots=True)
class ClockRun:
    """One run of a clock that was started aloud."""

    name: str
    started_at_s: float
    lasted_s: float | None
    """None: it still ran when the record ends, or nobody knows."""
    set_to_s: float | None
    """None for a clock that only counts."""
    unknown: bool = False
    """The machine was started anew while it ran: nobody knows how long it did."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """All of it; what only the case tells is as it begins where its brief cannot be read."""

    duration_s: float
    """From the start to the end of the case, or to the last row when it was not ended."""
    ended: bool
    items: Items | None = None
    """None, as `answers`, when the case's brief cannot be read."""
    utterances: Utterances
    answers: Answers | None = None
    calls: tuple[ThresholdCall, ...]
    """Saturation calls."""
    losses: tuple[ThresholdCall, ...]
    """Calls for a lost signal or feed."""
    loops: tuple[Loop, ...] = ()
    """Every asking of an item, in the order in which they came up."""
    told_unasked: tuple[ToldUnasked, ...] = ()
    """What items ask for that was told and confirmed while they were not asked."""
    brief_at_s: Span | None = None
    """The brief before the attempt: from its first item to its end, or to going on without it; None
    when it was not finished."""
    brief_broken_off: bool = False
    """It ended by going on without it."""
    oxygen_to_drugs_at_s: Span | None = None
    """From the clock of oxygen to the words that the drugs are in; None when either is not told."""
    oxygen_to_attempt_at_s: Span | None = None
    """The same to the words that the first attempt begins."""
    after_tube_at_s: Span | None = None
    """The same of the brief after the tube."""
    drugs_to_tube_at_s: Span | None = None
    """From the words that the drugs are in to the words that the tube is, or the rescue airway that
    came in its place."""
    ended_by: str | None = None
    """Which airway that was: "the supraglottic airway"."""
    no_breath_s: float | None = None
    """Of that: how long nobody was told to bag. An upper bound of the apnoea, from words alone."""
    longest_no_breath_s: float | None = None
    responses: tuple[Response, ...] = ()
    """Each saturation call, and what was done about it; none where nobody knows, because the case's
    brief cannot be read."""
    turns: tuple[Turn, ...] = ()
    """What turned the case besides its attempts."""
    stretches: tuple[Stretch, ...] = ()
    """Its course from the first attempt on, between attempts and after them."""
    watched: Watched | None
    """None when the site's threshold cannot be read."""
    lowest_saturation: Saturation | None
    """Of what the watcher recorded, about one sample a second: it may have been lower between."""
    clocks: tuple[ClockRun, ...] = ()
    attempts: tuple[AttemptRun, ...] = ()
    unread: tuple[str, ...] = ()
    """Rows that this program could not apply, such as those of a later version, each with why."""
    taken_back: tuple[Span, ...] = ()
    """From each word that was taken back until it was, in s: what it led to did not happen."""
    expected: tuple[Scored, ...] = ()
    """What a scenario expected, where one was given."""
