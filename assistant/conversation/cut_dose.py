"""A dose that somebody's words have cut: it is said whole once more, if it still holds.

Who says "hang on" while it is told means it for later; its volume and what to check would never be
said.
"""

from collections.abc import Callable
from dataclasses import dataclass

from assistant.brief.case import Case
from assistant.brief.known import Known
from assistant.brief.moment import Steps
from assistant.brief.states import State
from assistant.brief.unsettled import Quote, ToldDose
from assistant.speaking.mouth import Line
from assistant.speaking.tags import AWAITING

_SAID_IN = (State.OPENED, State.ASKING, State.PAUSING, State.READY)
"""Where nothing is read back or asked back, nor held: what was cut is said then."""


@dataclass(frozen=True, slots=True)
class _Told:
    """What the dose answers, and how far the case was: it holds as long as that is so."""

    asked: Quote | None
    dose: ToldDose | None
    turns: tuple[object, ...]


class CutDose:
    """Remembers the dose that was cut last."""

    def __init__(self) -> None:
        self._line: Line | None = None
        self._told: _Told | None = None
        self._once_more: Line | None = None
        self._next: Quote | None = None
        """The drug that was to be read back after it."""

    def by_words(self, line: Line, known: Known) -> None:
        """Somebody has cut that line; a dose comes back once, and not each time."""
        if line.tag != "dose":
            return
        again = line is self._once_more
        self._next = known.quote
        self._line, self._told = (None, None) if again else (line, _told(known))

    def queued(self, line: Line) -> None:
        """A dose is told: it takes the place of the one that was cut."""
        if line.tag == "dose":
            self._line = None

    def among(self, steps: Steps, case: Case, prompt: Callable[[], Line | None]) -> Steps:
        """The same steps, with the dose said before what they ask; else after what they say, with
        the `prompt` of what stands, but not while somebody is about to say something again."""
        said = again = False
        for step in steps:
            if isinstance(step, Line):
                self.queued(step)
                dose = self.to_say(case) if step.tag in AWAITING else None
                if dose is not None:
                    yield dose
                said, again = True, again or step.tag == "again"
            yield step
        dose = self.to_say(case) if said and not again else None
        if dose is None:
            return
        yield dose
        asked_again = prompt()
        if asked_again is not None:
            yield asked_again

    def to_say(self, case: Case) -> Line | None:
        """The dose that is to be said now, in full; nothing while something else is open."""
        line, known = self._line, case.known
        if line is None:
            return None
        if _told(known) != self._told or (case.state is State.HELD and known.held_quietly):
            self._line = None  # another dose, or nobody wants to hear it
            return None
        before_the_next = case.state is State.QUOTING and known.quote == self._next
        if case.state not in _SAID_IN and not before_the_next:
            return None
        self._line, self._once_more = None, line
        return line


def _told(known: Known) -> _Told:
    asked = known.answered
    drug = "" if asked is None else asked.drug.partition("/")[0]
    turns = known.phase, known.airway, len(known.attempts), known.is_arrested
    return _Told(asked, known.told_dose(drug), turns)
