"""Events of the asides: dose questions, facts about the patient, recipes, holding, ending."""

from dataclasses import replace
from typing import ClassVar

from pydantic import Field
from pydantic.dataclasses import dataclass
from typing_extensions import override

from assistant.brief.brief import Brief
from assistant.brief.events.base import STRICT, Event
from assistant.brief.item import Standing
from assistant.brief.known import Known
from assistant.brief.states import State
from assistant.brief.unsettled import (
    ADDING_UP,
    DoseQuestion,
    Fact,
    Figure,
    Mixing,
    Quote,
    ToldDose,
    Value,
    Wanted,
)
from assistant.brief.valued_items import FeaturesItem


@dataclass(frozen=True, kw_only=True, config=STRICT)
class BeginsAside(Event):
    """Begins an aside: what was told before it and is not settled comes again after it."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.begin_aside()


@dataclass(frozen=True, kw_only=True, config=STRICT)
class EndsAside(Event):
    """Ends an aside: nothing that it had open is awaited any more."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.end_aside()


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DoseQueried(Event):
    """A dose was asked for."""

    name: ClassVar[str] = "dose-queried"
    drug: str
    weight_kg: int | None
    what_if: bool
    wanted: Wanted = Field(default=Wanted.DOSE, strict=False)
    low_pressure: bool = False

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.begin_aside()
        known.quote = Quote(self.drug, self.weight_kg, self.what_if, self.wanted, self.low_pressure)
        known.keep_awaiting(at_s, but=self.drug.partition("/")[0])


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DoseAwaited(Event):
    """A dose was asked for that something comes before: it is told after that. One of the same drug
    that was awaited already is awaited in its place."""

    name: ClassVar[str] = "dose-awaited"
    drug: str
    surely: bool
    named_kg: int | None = None
    wanted: Wanted = Field(default=Wanted.DOSE, strict=False)
    low_pressure: bool = False
    understood: bool = False
    barred_by: str | None = None
    first: bool = False
    """It was being answered, and comes before the others that are awaited."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        question = DoseQuestion(
            self.drug,
            self.surely,
            self.named_kg,
            self.wanted,
            self.low_pressure,
            self.understood,
            self.barred_by,
        )
        known.await_dose(question, at_s, first=self.first)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class NoDoseAwaited(Event):
    """Nobody waits for a dose any more: what led to it was taken back."""

    name: ClassVar[str] = "no-dose-awaited"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.doses_awaited = []


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DoseCheckAsked(Event):
    """What must be excluded before this drug was asked."""

    name: ClassVar[str] = "dose-check-asked"
    check: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        if known.quote is not None:
            known.quote = replace(known.quote, check=self.check)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DoseCheckPassed(Event):
    """It is excluded."""

    name: ClassVar[str] = "dose-check-passed"
    check: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.excluded.append(self.check)
        if known.quote is not None:
            known.quote = replace(known.quote, check=None)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DoseTold(EndsAside):
    """A dose was said; numbers as they are written, so that no digit is made up."""

    name: ClassVar[str] = "dose-told"
    drug: str
    indication: str
    weight_kg: int | None
    what_if: bool
    low_pressure: bool
    dose: str | int | float
    unit: str
    source: str
    volume_ml: str | int | float | None = None
    volume_ml_per_h: str | int | float | None = None
    """Of an infusion."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.answered = known.quote
        super().change(known, brief, at_s)
        known.keep_awaiting(at_s)
        if not self.what_if and known.answered is not None:
            known.doses[self.drug] = ToldDose(self.dose, self.unit, known.answered)
            known.outdated = [one for one in known.outdated if one != self.drug]


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DosesOutdated(Event):
    """What became known of the patient makes other doses of these drugs than were told."""

    name: ClassVar[str] = "doses-outdated"
    drugs: list[str]

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        for drug in self.drugs:
            known.doses.pop(drug, None)
            known.outdated.append(drug)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class DoseDropped(EndsAside):
    """A dose question was refused, or has no answer."""

    name: ClassVar[str] = "dose-dropped"

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        super().change(known, brief, at_s)
        known.keep_awaiting(at_s)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class FactHeard(Event):
    """A fact about the patient was heard; it is read back, or its digits are asked for."""

    name: ClassVar[str] = "fact-heard"
    figure: Figure
    value: Value | None
    spoken: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.begin_aside()
        known.fact = Fact(self.figure, self.value, self.spoken)
        # Told anew, or read back again; but of what adds up one does not replace another.
        known.interrupted = [
            one
            for one in known.interrupted
            if one.figure != self.figure or (self.figure in ADDING_UP and one != known.fact)
        ]


@dataclass(frozen=True, kw_only=True, config=STRICT)
class FactTaken(Event):
    """It was confirmed; the item that asks for it is done."""

    name: ClassVar[str] = "fact-taken"
    figure: Figure
    value: Value
    spoken: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.fact = None
        known.set_figure(self.figure, self.value)
        # Who tells the opposite of what awaits its yes means that no more.
        taken = Fact(self.figure, self.value, self.spoken)
        known.interrupted = [one for one in known.interrupted if one.about != taken.about]
        if self.figure == "low_pressure" and self.value is False:
            _forget_low_pressure(known, brief)
        if self.figure == "pressure_mmhg":  # what was told before it is no news any more
            known.interrupted = [one for one in known.interrupted if one.figure != "low_pressure"]
        if self.figure == "feature_denied":
            _forget_feature(known, brief, str(self.value))
        if self.figure == "allergy_denied":  # the item was answered by it, and is by this
            for item in brief.asking_for("allergies"):
                if known.items[item.id].answer is not None:
                    known.items[item.id] = replace(known.items[item.id], answer=self.spoken)
        for item in brief.asking_for(self.figure):
            for told, so in item.told_by(self.value).items():
                known.set_figure(told, so)
            known.set_standing(item.id, Standing.DONE, self.spoken)
            known.lead_back_to(item.id)
            if known.current == item.id:
                known.ask_nothing()


def _forget_low_pressure(known: Known, brief: Brief) -> None:
    """It has recovered: the low number is not the pressure any more, and is asked for again."""
    for item in brief.asking_for("pressure_mmhg"):
        pressure_mmhg = known.pressure_mmhg
        if pressure_mmhg is not None and item.told_by(pressure_mmhg).get("low_pressure"):
            known.set_figure("pressure_mmhg", None)
            known.open_again(item.id)


def _forget_feature(known: Known, brief: Brief, feature: str) -> None:
    """It is not among what was said to be special any more; where that is still being told, there
    may be nothing of it then."""
    for item in brief.items():
        state = known.items[item.id]
        told = str(state.value or "").split()
        if not isinstance(item, FeaturesItem) or feature not in told:
            continue
        left = [one for one in told if one != feature]
        if state.standing is Standing.DONE:
            answer = ", ".join(brief.feature(one).called for one in left) or item.nothing_said[0]
            state = replace(state, value=" ".join(left) or "none", answer=answer)
        else:
            state = replace(state, value=" ".join(left) or None)
        known.items[item.id] = state


@dataclass(frozen=True, kw_only=True, config=STRICT)
class FactRefused(Event):
    """It was refused: a weight from before a restart is then none any more."""

    name: ClassVar[str] = "fact-refused"
    figure: Figure

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.fact = None
        if self.figure == "weight_kg" and known.weight_in_doubt:
            known.set_figure(self.figure, None)
            for item in brief.asking_for(self.figure):
                known.set_standing(item.id, Standing.OPEN)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class FigureOutside(Event):
    """A weight or an age was told for which there are no doses here: what was known is in doubt."""

    name: ClassVar[str] = "figure-outside"
    figure: Figure

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        if self.figure == "weight_kg":
            known.weight_in_doubt = known.weight_kg is not None
        if self.figure == "age_years":
            known.no_adult = True


@dataclass(frozen=True, kw_only=True, config=STRICT)
class FigureDisputed(Event):
    """Somebody said that a weight or a pressure is another, and not which: what was known is in
    doubt, or not known any more."""

    name: ClassVar[str] = "figure-disputed"
    figure: Figure
    item: str | None = None
    """The item that asks for it again."""

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        if self.figure == "weight_kg":
            known.weight_in_doubt = known.weight_kg is not None
        if self.figure == "pressure_mmhg":
            known.lose_pressure()
        if self.item is not None:
            known.open_again(self.item)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class MixBegun(Event):
    """A recipe is read out."""

    name: ClassVar[str] = "mix-begun"
    drug: str

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.begin_aside()
        known.mixing, known.laid_aside = Mixing(self.drug, 0), None


@dataclass(frozen=True, kw_only=True, config=STRICT)
class MixStep(Event):
    """The step before is done; this one, from 0, is read out."""

    name: ClassVar[str] = "mix-step"
    step: int

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        if known.mixing is not None:
            known.mixing = replace(known.mixing, step=self.step)


@dataclass(frozen=True, kw_only=True, config=STRICT)
class MixDone(EndsAside):
    """The drug is mixed."""

    name: ClassVar[str] = "mix-done"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Held(BeginsAside):
    """Somebody asked to wait, or for silence."""

    name: ClassVar[str] = "held"
    quiet: bool = False

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        quote = known.quote
        super().change(known, brief, at_s)
        known.held_quietly = self.quiet
        if quote is not None:  # "hang on" while a weight is looked up: its read-back comes again
            known.quote, known.laid_aside = quote, State.QUOTING


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Resumed(Event):
    """The silence is over."""

    name: ClassVar[str] = "resumed"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Closing(BeginsAside):
    """Whether to end the case was asked back."""

    name: ClassVar[str] = "closing"
    version: ClassVar[int] = 2
    in_silence: bool = False

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        super().change(known, brief, at_s)
        known.closed_in_silence = self.in_silence


@dataclass(frozen=True, kw_only=True, config=STRICT)
class KeptOpen(Event):
    """The case goes on."""

    name: ClassVar[str] = "kept-open"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Ended(Event):
    """The case is ended; `another_patient`: because the next one is of somebody else."""

    name: ClassVar[str] = "ended"
    version: ClassVar[int] = 2
    another_patient: bool = False

    @override
    def change(self, known: Known, brief: Brief, at_s: float) -> None:
        known.another_patient = self.another_patient
