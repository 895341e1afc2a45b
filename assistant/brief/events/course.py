"""Events of the case's course: clocks, attempts, pacing, and what happened to the assistant."""

from dataclasses import replace
from typing import ClassVar

from pydantic import Field
from pydantic.dataclasses import dataclass
from typing_extensions import override

from assistant.brief.brief import Brief
from assistant.brief.clocks import Attempt, CaseClock, Given, timed_by
from assistant.brief.events.base import STRICT, Event
from assistant.brief.item import Standing
from assistant.brief.known import Known
from assistant.brief.phases import RETURNING, Phase
from assistant.brief.states import State
from assistant.journal.rows import Who


@dataclass(frozen=True, kw_only=True, config=STRICT)
class ClockStarted(Event):
    """A clock runs from now on; `lasts_s` is None for one that only counts."""

    name: ClassVar[str] = "clock-started"
    who: ClassVar[Who] = "clock"
    clock: str
    lasts_s: int | float | None

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        before = known.clocks.get(self.clock)
        if before is not None and before.running:
            known.change_clock(self.clock, ended_s=at_s)
        known.clock_runs.append(CaseClock(self.clock, at_s, self.lasts_s))
        known.times_called.pop(self.clock, None)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class ClockEnded(Event):
    """A clock has run out, or was stopped; what waited for it is due."""

    name: ClassVar[str] = "clock-ended"
    who: ClassVar[Who] = "clock"
    clock: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.change_clock(self.clock, ended_s=at_s)
        for item in timed_by(brief, self.clock):
            if known.items[item.id].standing is Standing.RUNNING:
                known.set_standing(item.id, Standing.DUE)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class TimeCalled(Event):
    """It is called how long a clock has run; or passed over, as it could not be said in time."""

    name: ClassVar[str] = "time-called"
    version: ClassVar[int] = 2
    who: ClassVar[Who] = "clock"
    clock: str
    after_s: int
    said: bool = True
    """False where it was passed over; records of version 1 do not tell."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.times_called[self.clock] = self.after_s


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DrugGiven(Event):
    """A drug is in, with its dose where that was told for this patient."""

    name: ClassVar[str] = "drug-given"
    drug: str
    dose: str | int | float | None
    unit: str | None

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.given.append(Given(self.drug, self.dose, self.unit, at_s))
        known.outdated = [one for one in known.outdated if one != self.drug]
        known.forget_question(self.drug)
        told = known.doses.get(self.drug)
        if told is not None:
            known.doses[self.drug] = replace(told, is_in=True)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class PauseBegun(Event):
    """The pause before the drugs: all is summed up, and these items are still open."""

    name: ClassVar[str] = "pause-begun"
    open_items: list[str]

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.gaps_told = True


@dataclass(frozen=True, kw_only=True, config=STRICT)
class PausePassed(Event):
    """It is over: by a clear word, or because the drugs went in without one."""

    name: ClassVar[str] = "pause-passed"
    by_word: bool


@dataclass(frozen=True, kw_only=True, config=STRICT)
class GapsTold(Event):
    """These vital items were open when the drugs went in or an attempt began, and it was said."""

    name: ClassVar[str] = "gaps-told"
    open_items: list[str]

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.gaps_told = True


@dataclass(frozen=True, kw_only=True, config=STRICT)
class AttemptStarted(Event):
    """An attempt begins; nobody bags while somebody looks."""

    name: ClassVar[str] = "attempt-started"
    version: ClassVar[int] = 2
    beyond: bool = False
    """It is one more than was agreed."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.attempts.append(Attempt(at_s, beyond=self.beyond))
        known.airway = None
        known.pacing = False


@dataclass(frozen=True, kw_only=True, config=STRICT)
class AttemptFailed(Event):
    """The attempt has failed."""

    name: ClassVar[str] = "attempt-failed"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.end_attempt(at_s, "failed")


@dataclass(frozen=True, kw_only=True, config=STRICT)
class TubeIn(Event):
    """The tube is in: the items after it are asked, all of them for every tube."""

    name: ClassVar[str] = "tube-in"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.end_attempt(at_s, "tube in")
        known.enter(Phase.AFTER, at_s)
        known.broken_off = False
        for item in brief.items_of(Phase.AFTER):
            # What is known of the patient does not change with the tube.
            if item.figure is None or getattr(known, item.figure) is None:
                known.open_again(item.id)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Entered(Event):
    """Another phase begins; but for those before the attempt, its items are asked anew."""

    name: ClassVar[str] = "entered"
    phase: Phase = Field(strict=False)

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.enter(self.phase, at_s)
        known.drop_checked()
        known.ask_nothing()
        if self.phase not in RETURNING:
            known.broken_off = False
        if self.phase is not Phase.BEFORE:
            for item in brief.items_of(self.phase):
                known.open_again(item.id)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class PacingStarted(Event):
    """The bag is paced."""

    name: ClassVar[str] = "pacing-started"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.pacing = True


@dataclass(frozen=True, kw_only=True, config=STRICT)
class PacingStopped(Event):
    """The bag is not paced any more."""

    name: ClassVar[str] = "pacing-stopped"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.pacing = False


@dataclass(frozen=True, kw_only=True, config=STRICT)
class GaveWay(Event):
    """The assistant fell silent for the watcher's call."""

    name: ClassVar[str] = "gave-way"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Marked(Event):
    """Somebody marked the moment, aloud or by a button, for the debrief; it changes nothing."""

    name: ClassVar[str] = "mark"
    who: ClassVar[Who] = "facilitator"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Restarted(Event):
    """The program was started anew; `rebooted`: so was the machine."""

    name: ClassVar[str] = "restarted"
    rebooted: bool = False

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.weight_in_doubt = known.weight_kg is not None
        known.doses_awaited_s = at_s  # whoever waits was not heard meanwhile
        if not self.rebooted:
            return
        known.asked_s = None
        known.given = [replace(one, at_s=None) for one in known.given]
        if known.attempts and known.attempts[-1].outcome is None:
            known.attempts[-1] = replace(known.attempts[-1], unknown=True)
        for clock in known.clocks.values():
            if clock.running:
                known.change_clock(clock.name, unknown=True)
                for item in timed_by(brief, clock.name):
                    if known.items[item.id].standing is Standing.RUNNING:
                        known.open_again(item.id)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class PatientDoubted(Event):
    """The case was cut short in that state: whether the patient is still the same is asked."""

    name: ClassVar[str] = "patient-doubted"
    version: ClassVar[int] = 2
    cut_short_in: State = Field(strict=False)
    asked_back: str | None = None
    """What was asked back then, and is once more; records of version 1 do not tell."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.patient_in_doubt = True
        known.asked_back = self.asked_back
        known.cut_short_in = self.cut_short_in


@dataclass(frozen=True, kw_only=True, config=STRICT)
class PatientSettled(Event):
    """It is the same one; or not `same`: something else came first, and it is asked again."""

    name: ClassVar[str] = "patient-settled"
    same: bool

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.patient_in_doubt = not self.same
        known.doses_awaited_s = at_s
        known.asked_back = None


@dataclass(frozen=True, kw_only=True, config=STRICT)
class FormChosen(Event):
    """Somebody asked for the short or the long form of the questions."""

    name: ClassVar[str] = "form-chosen"
    long: bool

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.long_form = self.long
