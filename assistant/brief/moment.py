"""What every decision of the caller looks at, and the steps that a decision is made of."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from assistant.brief.case import Case
from assistant.brief.decisions import SiteDecisions
from assistant.brief.events.base import Event
from assistant.brief.turns import Turn
from assistant.language.tongue import Tongue
from assistant.speaking.mouth import Line
from assistant.speaking.says import Says

FRESH_S = 3.0
"""An older saturation counts as unknown; the watcher tells one every second."""


@dataclass(slots=True)
class Present:
    """What is so just now, and is in no record of the case: the time, and what the watcher sees."""

    now_s: float = 0.0
    spo2_percent: int | None = None
    seen_s: float | None = None
    """When the watcher told it last."""
    pounds_at_s: float | None = None
    """When a weight was told in pounds last."""
    turn: Turn | None = None
    """What was said last, if that turned the case: "no wait" is about that then."""
    taken_back: bool = False
    """Whether that has just been taken back: "no wait" once more is about nothing else."""
    unsure: str = ""
    """The meaning of what was said last, if it was not surely heard and asked for again."""
    told: tuple[Line, ...] = ()
    """What the last question was answered with, until something else is said."""
    clock_has_ended: bool = False
    """Whether one has since it was asked what that makes due."""

    @property
    def seen_ago_s(self) -> float | None:
        """How long ago a saturation was seen that still counts; None when there is none."""
        if self.spo2_percent is None or self.seen_s is None:
            return None
        ago_s = max(0.0, self.now_s - self.seen_s)
        return ago_s if ago_s <= FRESH_S else None


@dataclass(frozen=True, slots=True)
class Moment:
    """What a decision is made from: one site's decisions, one case, and the present."""

    site: SiteDecisions
    case: Case
    present: Present = field(default_factory=Present)

    @property
    def says(self) -> Says:
        """The assistant's own phrases."""
        return self.site.wording.says

    @property
    def tongue(self) -> Tongue:
        """The site's language."""
        return self.site.wording.tongue

    @property
    def short(self) -> bool:
        """Whether items are asked in few words."""
        chosen = self.case.known.long_form
        return self.site.wording.form == "short" if chosen is None else not chosen

    def say(self, number: int | Decimal) -> str:
        """A number in the site's words."""
        return self.tongue.numbers.say_number(number)


@dataclass(frozen=True, slots=True)
class Happened:
    """An event for the record, with the words that a reader of the record sees."""

    event: Event
    text: str
    item: str | None = None
    """The item that it is about."""


Steps = Iterator[Happened | Line]
"""Whoever runs them records and applies an entry before asking for the next step."""
