"""A site's brief as data: who is asked what, in which order, and what counts as an answer."""

from collections.abc import Iterator
from enum import Enum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from assistant.files.word_forms import Identifier, Spoken, Utterance
from assistant.files.yaml_files import SiteModel


class Phase(Enum):
    """When a section of the brief is asked."""

    BEFORE = "before"
    AFTER = "after"


class Item(SiteModel):
    """What every kind of item has."""

    id: Identifier
    called: Utterance | None = None
    """Its short name, as it is listed and asked after; the id in words when left out."""
    ask: Spoken
    why: Spoken
    """Said when somebody asks why; one or two short sentences."""
    sources: Annotated[tuple[str, ...], Field(min_length=1)]
    """Keys of docs/brief-sources.md, `common-practice` where nothing was published."""

    @property
    def telling_answers(self) -> tuple[str, ...]:
        """What confirms this item and no other; empty for a kind that is not confirmed."""
        return ()


class ConfirmedItem(Item):
    """What every kind has that is confirmed."""

    confirmations: tuple[Utterance, ...] = ()
    """Telling answers that also confirm this item ("we saw the head up"), besides the site's
    own."""
    only_telling: bool = False
    """Nothing but a telling answer confirms it; the site's own are told what to say."""

    @model_validator(mode="after")
    def _something_confirms(self) -> Self:
        if self.only_telling and not self.confirmations:
            raise ValueError("at least one of its own confirmations with only_telling")
        return self

    @property
    def telling_answers(self) -> tuple[str, ...]:
        return self.confirmations


class ConfirmItem(ConfirmedItem):
    """A plain check: it is so, or it is not yet so."""

    kind: Literal["confirm"]


class Option(SiteModel):
    """One of several answers."""

    id: Identifier
    called: Spoken
    """As the assistant reads it back."""
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """As a person may say it."""


class ChooseItem(Item):
    """One of several."""

    kind: Literal["choose"]
    options: Annotated[tuple[Option, ...], Field(min_length=2)]


class NumberItem(Item):
    """A whole number with a unit; always read back digit by digit and confirmed."""

    kind: Literal["number"]
    unit: Spoken
    """As it is spoken, in the plural: "kilograms"."""
    unit_said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """As people may say it after the number: "kilos", "kilograms"."""
    low: Annotated[int, Field(ge=0, le=300)]
    high: Annotated[int, Field(ge=1, le=300)]
    sets: Literal["weight_kg", "height_cm", "age_years"] | None = None
    """The patient's figure that this answer sets."""

    @model_validator(mode="after")
    def _low_below_high(self) -> "NumberItem":
        if self.low >= self.high:
            raise ValueError("a low below its high")
        return self


class NameItem(Item):
    """Who does it, by a role of the site's roster."""

    kind: Literal["name"]


class TimedItem(ConfirmedItem):
    """Starts a clock when it is confirmed, and is asked again when the clock ends."""

    kind: Literal["timed"]
    lasts_s: Annotated[int, Field(ge=5, le=3600)]
    clock: Spoken
    """What runs, as it is spoken: "oxygen on"."""
    ask_again: Spoken
    again_after_s: Annotated[int, Field(ge=5, le=3600)] = 60
    """When the answer to `ask_again` is not yet, the clock runs this long once more."""


class PlanItem(ConfirmedItem):
    """Read aloud, then confirmed."""

    kind: Literal["plan"]
    read_aloud: Annotated[tuple[Spoken, ...], Field(min_length=1)]


AnyItem = ConfirmItem | ChooseItem | NumberItem | NameItem | TimedItem | PlanItem
ITEM_KINDS = ("confirm", "choose", "number", "name", "timed", "plan")


class Section(SiteModel):
    """What is put to one person, in one go."""

    id: Identifier
    phase: Phase
    to: Spoken
    """Whom the assistant addresses: "Leader"."""
    items: Annotated[
        tuple[Annotated[AnyItem, Field(discriminator="kind")], ...], Field(min_length=1)
    ]


class Attempts(SiteModel):
    """The agreed plan for attempts that fail."""

    after_failure: Annotated[tuple[Spoken, ...], Field(min_length=1)]
    """What is said after the first, second, … failed attempt; the last one is said from then on."""


class Brief(SiteModel):
    """The whole brief of a site."""

    name: Spoken
    roster: Annotated[tuple[Option, ...], Field(min_length=1)]
    sections: Annotated[tuple[Section, ...], Field(min_length=1)]
    attempts: Attempts

    @model_validator(mode="after")
    def _every_id_once(self) -> "Brief":
        ids = [item.id for item in self.items()] + [section.id for section in self.sections]
        twins = sorted({one for one in ids if ids.count(one) > 1})
        if twins:
            raise ValueError(f"each item and section id once ({', '.join(twins)} stands twice)")
        return self

    def items(self) -> Iterator[AnyItem]:
        """All items in the order in which they are asked."""
        for section in self.sections:
            yield from section.items
