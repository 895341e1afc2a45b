"""The rows of a case's record."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Who = Literal["assistant", "team", "watcher", "clock", "facilitator"]
Kind = Literal["said", "heard", "ignored", "event"]

TYPED = "a case in text: hearing and voice are not exercised"
"""The first row of a case that was typed and read."""


@dataclass(frozen=True, slots=True)
class Row:
    """One thing that was said, heard, heard but ignored, or that happened."""

    mono_s: float
    """On the case's clock, not from the case's start."""
    wall: str
    """RFC 3339, UTC; for display only."""
    wall_trusted: bool
    who: Who
    kind: Kind
    text: str
    meaning: str | None = None
    item: str | None = None
    confidence: float | None = None
    data: Mapping[str, Any] = field(default_factory=dict)
    """For an event, `event` names it and the rest are its values; for speech, its scores."""
