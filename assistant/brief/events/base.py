"""The form of every event."""

from typing import ClassVar

from pydantic import ConfigDict
from pydantic.dataclasses import dataclass

from assistant.brief.brief import Brief
from assistant.brief.known import Known
from assistant.journal.rows import Who

STRICT = ConfigDict(extra="forbid", strict=True)
"""Values are checked when an event is made, before anything is written: nothing is converted, and
a value that the event does not have is refused."""


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Event:
    """Something that happens in a case. Raises pydantic.ValidationError for wrong values."""

    name: ClassVar[str]
    """In the record."""
    version: ClassVar[int] = 1
    """Of its values in the record; a change that an older program would misread raises it."""
    who: ClassVar[Who] = "assistant"

    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        """What becomes known by it; nothing, for an event that only changes the state.

        `at_s` is its time on the case's clock.
        """
