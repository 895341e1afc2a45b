"""A site's whole brief: its sections, in the order in which they are asked, and its plan."""

from collections.abc import Iterator
from enum import Enum
from typing import Annotated

from pydantic import Field, model_validator

from assistant.brief.items import AnyItem, Option
from assistant.files.word_forms import Identifier, Spoken
from assistant.files.yaml_files import SiteModel


class Phase(Enum):
    """When a section of the brief is asked."""

    BEFORE = "before"
    AFTER = "after"


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

    def calling_at(self, threshold: str) -> "Brief":
        """The same with every `{threshold}` filled in, in words."""
        return self.model_validate_json(self.model_dump_json().replace("{threshold}", threshold))

    def items(self) -> Iterator[AnyItem]:
        """All items in the order in which they are asked."""
        for section in self.sections:
            yield from section.items

    def items_of(self, phase: Phase) -> Iterator[AnyItem]:
        """The items of one phase, in the same order."""
        for section in self.sections:
            if section.phase is phase:
                yield from section.items

    def item(self, item_id: str) -> AnyItem:
        """The item of that name. Raises KeyError when the brief has none."""
        for item in self.items():
            if item.id == item_id:
                return item
        raise KeyError(item_id)

    def asking_for(self, figure: str) -> Iterator[AnyItem]:
        """The items whose answer sets that figure of the patient."""
        return (item for item in self.items() if item.figure == figure)
