"""The clocks and attempts of a case."""

from dataclasses import dataclass
from typing import Literal

from assistant.brief.brief import Brief
from assistant.brief.items import AnyItem

Outcome = Literal["failed", "tube in", "tube out"]
"""Of an attempt; `tube out`: the tube was in, and came or was taken out again."""
ARREST_CLOCK = "arrest"
ATTEMPT_CLOCK = "attempt"
DRUGS_CLOCK = "drugs in"
"""Clocks that every case has; the others are the items' own."""


@dataclass(frozen=True, slots=True)
class CaseClock:
    """One run of a clock that was started aloud."""

    name: str
    started_s: float
    """On the case's clock, as all times here."""
    lasts_s: float | None
    """None for a clock that only counts."""
    ended_s: float | None = None
    unknown: bool = False
    """It ran across a restart of the machine: nobody knows how long it has run."""

    @property
    def ended(self) -> bool:
        """Whether it was stopped or has run out."""
        return self.ended_s is not None

    @property
    def has_run_out(self) -> bool:
        """Whether it ran for as long as it was set to."""
        if self.ended_s is None or self.lasts_s is None:
            return False
        return self.ended_s - self.started_s >= self.lasts_s

    @property
    def running(self) -> bool:
        """Whether it runs, and it is known for how long."""
        return not (self.ended or self.unknown)


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt, as it was said aloud to begin and to end."""

    started_s: float
    ended_s: float | None = None
    """None when the record does not say."""
    outcome: Outcome | None = None
    """None when the record does not say."""
    unknown: bool = False
    """Nobody knows how long it lasted: the machine was started anew meanwhile, or nobody said that
    it began."""
    beyond: bool = False
    """It was one more than the site's plan has."""


@dataclass(frozen=True, slots=True)
class Given:
    """A drug that went in, as somebody said."""

    drug: str
    dose: str | int | float | None
    """None where none was told for this patient before."""
    unit: str | None
    at_s: float | None
    """None when nobody knows any more: the machine was started anew since."""


def timed_by(brief: Brief, clock: str) -> list[AnyItem]:
    """The items that wait for a clock of that name."""
    return [one for one in brief.items() if one.waits_for == clock]
