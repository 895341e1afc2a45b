"""Figures that name where they come from."""

from decimal import Decimal
from enum import Enum
from typing import Annotated

from pydantic import AfterValidator, Field, ValidationInfo, field_validator, model_validator

from assistant.dosing.stated import AnyRange, DoseFigure, Figure
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


def _names_something(text: str) -> str:
    words = [word for word in text.split() if sum(map(str.isalpha, word)) > 1]
    if len(words) < LEAST_WORDS:
        raise ValueError("a title, a label or whose decision it is, in two words or more")
    return text


LEAST_WORDS = 2
"""Of a source: "common practice" names something, "?" and "label" do not."""
Source = Annotated[Spoken, AfterValidator(_names_something)]


class Sourced(SiteModel):
    """What every figure comes with."""

    source: Source
    status: Status


class Published(Sourced):
    """The range that a label or guideline gives."""

    range: AnyRange


class Limit(Enum):
    """What a maximum is the most of."""

    SINGLE_DOSE = "single_dose"
    TOTAL = "total"
    STARTING_RATE = "starting_rate"
    HIGHEST_RATE = "highest_rate"

    @property
    def of_a_rate(self) -> bool:
        """Whether it limits an infusion."""
        return self in (Limit.STARTING_RATE, Limit.HIGHEST_RATE)


class Maximum(Sourced):
    """The most that is given, as one of four kinds."""

    single_dose: DoseFigure | None = None
    """The most at one time."""
    total: DoseFigure | None = None
    """The most of all doses together."""
    starting_rate: DoseFigure | None = None
    """The highest rate at which an infusion is begun; it may be raised above that later."""
    highest_rate: DoseFigure | None = None
    """The highest rate of an infusion."""

    @model_validator(mode="after")
    def _one_of_them(self) -> "Maximum":
        if len([one for one in Limit if getattr(self, one.value) is not None]) != 1:
            raise ValueError(f"one of {', '.join(one.value for one in Limit)}")
        return self

    @property
    def limit(self) -> Limit:
        """Which of the four it is."""
        return next(one for one in Limit if getattr(self, one.value) is not None)

    @property
    def most(self) -> Figure:
        """The figure of that one."""
        most: Figure = getattr(self, self.limit.value)
        return most


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


def published_or_reasoned(figure: Figure, info: ValidationInfo) -> Figure:
    """For validators: a site's figure lies in the published range before it, or has a reason.

    No reason is good for another unit: that is a slip.
    """
    published, reason = info.data.get("published"), info.data.get("reason")
    if not isinstance(published, Published):
        return figure
    low = published.range.low
    if not low.is_like(figure):
        raise ValueError(f"the unit {low.measured_in}, as the published range beside it")
    if reason is None and not published.range.holds(figure):
        unit = "" if figure.unit == low.unit else f"the unit {low.unit} of the published range, "
        raise ValueError(
            f"{unit}{published.range} as published in {published.source}, or a reason stated "
            "beside it"
        )
    return figure
