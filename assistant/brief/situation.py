"""What every decision of the caller looks at, and the steps that a decision is made of."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.brief.case import Case
from assistant.brief.decisions import SiteDecisions
from assistant.journal.rows import Who
from assistant.language.tongue import Tongue
from assistant.speaking.mouth import Line
from assistant.speaking.wording import Says


@dataclass(slots=True)
class Present:
    """What is so just now, and is in no record of the case: the time, and what the watcher sees."""

    now_s: float = 0.0
    spo2_percent: int | None = None
    seen_s: float | None = None
    """When the watcher told it last."""


@dataclass(frozen=True, slots=True)
class Desk:
    """One site's decisions, one case, and the present."""

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

    def say(self, number: int) -> str:
        """A number in the site's words."""
        return self.tongue.numbers.say_number(number)

    @staticmethod
    def filled(phrase: str, **values: str) -> str:
        """A phrase with its placeholders filled in, as a sentence."""
        text = phrase.format(**values)
        return text[:1].upper() + text[1:]


@dataclass(frozen=True, slots=True)
class Happening:
    """An event for the record; `values` are what the case learns from it."""

    event: str
    text: str
    item: str | None = None
    who: Who = "assistant"
    values: Mapping[str, Any] = field(default_factory=dict)


Steps = Iterator[Happening | Line]
"""Whoever runs them records and applies a happening before asking for the next step."""
