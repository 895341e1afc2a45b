"""What every decision of the caller looks at, and the steps that a decision is made of."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from assistant.brief.case import Case
from assistant.brief.decisions import SiteDecisions
from assistant.brief.events.base import Event
from assistant.brief.turns import Turn
from assistant.brief.unsettled import Quote, Wanted
from assistant.grammar.readings import Reading, Verdict
from assistant.language.tongue import Tongue
from assistant.speaking.mouth import Line
from assistant.speaking.says import Says

FRESH_S = 3.0
"""An older saturation counts as unknown; the watcher tells one every second."""


DOSE_AWAITED_S: Final = 45.0
"""For so long whoever asked for a dose still waits for it, while a weight is asked for, told and
read back. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class DoseQuestion:
    """What somebody asks for, before it is known for which weight it is to be answered."""

    drug: str
    """As in a quote."""
    surely: bool
    """Whether it was surely heard: it is read back all the same with a weight that was named, and
    where the drug's name sounds like another's."""
    named_kg: int | None = None
    """The weight that was named in it; None: the patient's."""
    wanted: Wanted = Wanted.DOSE
    low_pressure: bool = False

    @classmethod
    def heard(
        cls, reading: Reading, wanted: Wanted = Wanted.DOSE, *, low_pressure: bool = False
    ) -> "DoseQuestion":
        """As somebody said it."""
        drug, named_kg = str(reading.values["drug"]), reading.values.get("weight_kg")
        kilograms = None if named_kg is None else int(named_kg)
        return cls(drug, surely_heard(reading), kilograms, wanted, low_pressure)

    @classmethod
    def anew(cls, quote: Quote, *, surely: bool, named_kg: int | None = None) -> "DoseQuestion":
        """What a quote answers, or was to answer, for another weight or once more."""
        return cls(quote.drug, surely, named_kg, quote.wanted, quote.low_pressure)


def surely_heard(reading: Reading) -> bool:
    """Whether the values of a reading need not be read back for how they were heard."""
    return reading.verdict is Verdict.ACCEPT and reading.runner_up is None


@dataclass(frozen=True, slots=True)
class DoseAwaited:
    """A dose question that something comes before, and when it was asked, on the case's clock."""

    question: DoseQuestion
    asked_at_s: float
    understood: bool = False
    """The drug needs no yes any more."""


@dataclass(slots=True)
class Present:
    """What is so just now, and is in no record of the case: the time, and what the watcher sees."""

    now_s: float = 0.0
    spo2_percent: int | None = None
    seen_s: float | None = None
    """When the watcher told it last."""
    pounds_at_s: float | None = None
    """When a weight was told in pounds last."""
    dose_awaited: DoseAwaited | None = None
    """The dose question that was asked last, while something has to be told before its answer."""
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
