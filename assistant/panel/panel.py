"""What the rest of the assistant knows of a panel."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol


class PedalRequest(StrEnum):
    """What a press of the pedal asks for.

    There is no press that confirms, answers or skips: a foot slips, and nobody hears it.
    """

    SAY_AGAIN = "say again"
    NEW_CASE = "new case"


@dataclass(frozen=True, slots=True)
class Press:
    """One press, when the pedal was let go."""

    asked: PedalRequest
    at_s: float
    """By the clock that the panel was given."""
    held_s: float


class LightStatus(StrEnum):
    """What the light says, by rhythm alone."""

    IDLE = "idle"
    LISTENING = "listening"
    SPEAKING = "speaking"
    FAULT = "fault"


class Panel(Protocol):
    """Pedal, light, buzzer and mark button of a box, as far as it has them."""

    @property
    def fault(self) -> str:
        """What is wrong with the panel, such as a pedal held down; empty when nothing is."""

    def pressed(self) -> list[Press]:
        """The presses since the last call, oldest first; never waits."""

    def marked(self) -> int:
        """How often the mark button was pressed since the last call; never waits."""

    def show(self, status: LightStatus) -> None:
        """Move the light on; to be called at least ten times a second.

        The light lives by these calls: call it where sound blocks are decoded, so that an
        assistant that is alive but deaf shows a light that stands still.
        """

    def buzz(self) -> None:
        """Three short sounds: there is something to say, and no loudspeaker to say it with."""

    def close(self) -> None:
        """Light and buzzer off, and the pins given back."""


class BarePanel:
    """The panel of a box that has none."""

    fault = ""

    def pressed(self) -> list[Press]:
        """None, ever."""
        return []

    def marked(self) -> int:
        """None, ever."""
        return 0

    def show(self, status: LightStatus) -> None:
        """Nothing to show it with."""

    def buzz(self) -> None:
        """Nothing to sound."""

    def close(self) -> None:
        """Nothing to give back."""
