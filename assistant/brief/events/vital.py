"""Events of the vital words that are no attempt: tube out, rescue, arrest; and words in doubt, or
taken back."""

from typing import ClassVar

from pydantic import Field
from pydantic.dataclasses import dataclass
from typing_extensions import override

from assistant.brief.brief import Brief
from assistant.brief.events.base import STRICT, Event
from assistant.brief.known import Known
from assistant.brief.phases import Phase
from assistant.brief.states import State
from assistant.brief.unsettled import Doubt


@dataclass(frozen=True, kw_only=True, config=STRICT)
class TubeOut(Event):
    """What was in is out again, or never was in the windpipe; the attempt of a tube has failed."""

    name: ClassVar[str] = "tube-out"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.airway = None
        if known.phase is Phase.AFTER:
            known.tube_is_out()


@dataclass(frozen=True, kw_only=True, config=STRICT)
class CannotOxygenate(Event):
    """No oxygen gets in from above: the neck is next."""

    name: ClassVar[str] = "cannot-oxygenate"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.no_oxygen = True


@dataclass(frozen=True, kw_only=True, config=STRICT)
class RescueStarted(Event):
    """Somebody decides for the supraglottic airway."""

    name: ClassVar[str] = "rescue-started"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class RescueIn(Event):
    """The supraglottic airway is in."""

    name: ClassVar[str] = "rescue-in"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class NeckOpen(Event):
    """A tube is in through the front of the neck."""

    name: ClassVar[str] = "neck-open"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Arrest(Event):
    """The heart has stopped: nothing is asked until somebody says to go on."""

    name: ClassVar[str] = "arrest"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.pending = None
        known.held_quietly = True


@dataclass(frozen=True, kw_only=True, config=STRICT)
class VitalDoubted(Event):
    """A vital word was heard, not for sure, in that state; it is asked back."""

    name: ClassVar[str] = "vital-doubted"
    word: str
    heard_in: State = Field(strict=False)

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.doubt = Doubt(self.word, self.heard_in)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DoubtSettled(Event):
    """It was confirmed, refused, or nobody answered."""

    name: ClassVar[str] = "doubt-settled"
    confirmed: bool

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.doubt = None


@dataclass(frozen=True, kw_only=True, config=STRICT)
class TakenUp(Event):
    """The aside that a vital word had interrupted is taken up again."""

    name: ClassVar[str] = "taken-up"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        if known.laid_aside is State.CHECKING and known.checked is not None:
            known.current, known.pending = known.checked
        known.laid_aside = known.checked = None


@dataclass(frozen=True, kw_only=True, config=STRICT)
class TakenBack(Event):
    """The last word that turned the case was not meant: the case is as it was before it.

    What that was only the case knows (`turns.py`).
    """

    name: ClassVar[str] = "taken-back"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class WaveDue(Event):
    """The wave has to be asked for again, before whatever was read back or read out."""

    name: ClassVar[str] = "wave-due"
