"""Figures that name where they come from."""

from decimal import Decimal
from enum import Enum
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from assistant.dosing.units import plain
from assistant.files.word_forms import Spoken
from assistant.files.yaml_files import SiteModel

Amount = Annotated[Decimal, Field(gt=0)]


class Status(Enum):
    """How well a figure's source is known."""

    READ = "read"
    """Read in the publication or a copy of it."""
    QUOTED = "quoted"
    """Read in a page that quotes the publication."""
    MEMORY = "memory"
    """Not looked up: to be checked before it is relied upon."""
    LOCAL = "local"
    """The site's own decision; there is nothing to look up."""


class Sourced(SiteModel):
    """What every figure comes with."""

    source: Spoken
    status: Status


class Between(SiteModel):
    """From low to high, both included."""

    low: Amount
    high: Amount

    @field_validator("high")
    @classmethod
    def _high_above_low(cls, high: Decimal, info: ValidationInfo) -> Decimal:
        if high < info.data.get("low", high):
            raise ValueError(f"a high not below its low of {plain(info.data['low'])}")
        return high

    def holds(self, amount: Decimal) -> bool:
        """Whether the amount lies within."""
        return self.low <= amount <= self.high


class Published(Between, Sourced):
    """The range that a label or guideline gives, in the unit of the figure beside it."""


class Maximum(Sourced):
    """The most that is given at once, in the unit of the dose beside it without the weight."""

    amount: Amount


class Span(SiteModel):
    """From low to high in whole numbers, both included."""

    low: Annotated[int, Field(ge=1)]
    high: Annotated[int, Field(le=300)]

    @field_validator("high")
    @classmethod
    def _high_above_low(cls, high: int, info: ValidationInfo) -> int:
        if high <= info.data.get("low", high - 1):
            raise ValueError(f"a whole number above its low of {info.data['low']}")
        return high

    def holds(self, figure: int | Decimal) -> bool:
        """Whether the figure lies within."""
        return self.low <= figure <= self.high


def published_or_reasoned(figure: Decimal, info: ValidationInfo) -> Decimal:
    """For validators: a site's figure lies in the published range before it, or has a reason."""
    published, reason = info.data.get("published"), info.data.get("reason")
    if isinstance(published, Published) and reason is None and not published.holds(figure):
        raise ValueError(
            f"{plain(published.low)} to {plain(published.high)} as published in "
            f"{published.source}, or a reason stated beside it"
        )
    return figure
