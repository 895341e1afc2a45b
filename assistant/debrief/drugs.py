"""What was told of drugs: each dose that was spoken and how long it held, and what went in."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from assistant.brief.clocks import ARREST_CLOCK, DRUGS_CLOCK
from assistant.debrief.entries import TimelineEntry
from assistant.debrief.spans import Span
from assistant.debrief.timeline import Timeline
from assistant.dosing.audible import audible

if TYPE_CHECKING:
    from assistant.dosing.formulary import Formulary

_WEIGHT = "weight_kg"


@dataclass(slots=True)
class SpokenDose:
    """One dose that the assistant has spoken."""

    entry: TimelineEntry
    """Its row; the numbers are in its values."""
    held_until_s: float | None = None
    """When it was another one by what became known of the patient; None when it held."""
    outdated_by: str = ""
    """What that was, as it stands on record: "weight: ninety kilograms"."""

    @property
    def what_if(self) -> bool:
        """Whether it was for a weight that is not the patient's."""
        return bool(self.entry.values.get("what_if"))

    @property
    def is_rate(self) -> bool:
        """Whether it is what an infusion gives in an hour or a minute."""
        return "/" in str(self.entry.values.get("unit", ""))

    @property
    def amount(self) -> str:
        """With its unit; the figure is the one that was said."""
        return _amount(self.entry.values)

    @property
    def told_for(self) -> str:
        """The weight that it was told for, and a low pressure if it went by that."""
        weight = self.entry.values.get("weight_kg")
        told = "no weight needed" if weight is None else f"{weight} kg"
        return f"{told}, low pressure" if self.entry.values.get("low_pressure") else told


def _amount(values: Mapping[str, Any]) -> str:
    dose = str(values.get("dose", "?"))
    with suppress(InvalidOperation):
        dose = f"{audible(Decimal(dose)).normalize():f}"
    return f"{dose} {values.get('unit', '')}".strip()


Reason = Literal["again", "rate", "arrest", "in doubt"]
"""Why a dose that had been told and held is not the one that went in: the drug had gone in by that
same telling, it was a rate, in an arrest it is another one, or the weight was in doubt by then."""


class Weighed(NamedTuple):
    """A weight that was confirmed."""

    at_s: float | None
    weight_kg: float


@dataclass(slots=True)
class WentIn:
    """A drug that was told to be in; or the drugs, without their names."""

    at_s: float | None
    drug: str | None
    amount: str | None = None
    """The dose that had been told for this patient and held; None without one."""
    dose: SpokenDose | None = None
    """The last one that had been told, for this patient if there was one; None without any."""
    why_none: Reason | None = None
    """Of a drug without an amount, whose dose had been told and held."""
    put_right: Weighed | None = None
    """The weight that was confirmed after it was in by the dose for another one."""
    taken_back_at_s: float | None = None
    """When it was said not to have been meant; None when it stood."""
    against: tuple[str, ...] = ()
    """What the patient was told to be allergic to and bars it, before it was in or after."""


@dataclass(frozen=True, slots=True)
class Drugs:
    """All of it, in the order in which it was told."""

    doses: tuple[SpokenDose, ...]
    given: tuple[WentIn, ...]


def drugs_of(timeline: Timeline, taken_back: Sequence[Span] = ()) -> Drugs:
    """Read off the rows of events; without a brief nobody knows which item asked for the weight.

    `taken_back` are the stretches, in s of the case, whose words were not meant: what they led to
    did not happen.
    """
    brief = timeline.brief
    weighing = set() if brief is None else {one.id for one in brief.asking_for(_WEIGHT)}
    telling = _Telling(weighing)
    for one in timeline.entries:
        # What the assistant says of a dose has the same meaning as the row of the event.
        if one.kind == "event":
            telling.take(one, _undone_at_s(one, taken_back))
    for went_in in telling.given:
        went_in.against = tuple(_against(timeline.formulary, went_in.drug, telling.allergies))
    return Drugs(tuple(telling.doses), tuple(telling.given))


def _against(
    formulary: "Formulary | None", drug: str | None, allergies: Sequence[str]
) -> Iterator[str]:
    """Which of the allergies bar a drug, in words; none bars a drug that the formulary has not."""
    known = None if formulary is None else {one.id: one for one in formulary.drugs}.get(drug or "")
    if formulary is not None and known is not None:
        barring = formulary.barred_by(known)
        called = {one.id: one.called for one in formulary.all_allergens()}
        yield from (called.get(one, one) for one in dict.fromkeys(allergies) if one in barring)


def _undone_at_s(one: TimelineEntry, taken_back: Sequence[Span]) -> float | None:
    at_s = one.at_s or 0.0
    return next((end for begin, end in taken_back if begin <= at_s < end), None)


class _Telling:
    """Follows what is told of drugs, row by row."""

    def __init__(self, weighing: Collection[str]) -> None:
        """`weighing` are the items that ask for the weight."""
        self._weighing = weighing
        self.doses: list[SpokenDose] = []
        self.given: list[WentIn] = []
        self.allergies: list[str] = []
        self._before: TimelineEntry | None = None
        self._arrested = False

    def take(self, one: TimelineEntry, undone_at_s: float | None) -> None:
        """One row more; `undone_at_s` is when it was taken back, if it was."""
        if one.meaning == "dose-told":
            self.doses.append(SpokenDose(one))
        elif one.meaning == "drug-given":
            self.given.append(self._went_in(one, undone_at_s))
        elif undone_at_s is None:
            self._what_else(one)
        self._before = one if undone_at_s is None else self._before

    def _what_else(self, one: TimelineEntry) -> None:
        clock = one.values.get("clock")
        if one.meaning == "doses-outdated":
            for drug in one.values.get("drugs", []):
                _outdate(self._last(drug), one, self._before)
        elif one.meaning in ("clock-started", "clock-ended") and clock == ARREST_CLOCK:
            self._arrested = one.meaning == "clock-started"
        elif one.meaning == "clock-started" and clock == DRUGS_CLOCK:
            # A drug that was named has begun it at that very moment.
            if one.at_s not in [known.at_s for known in self.given]:
                self.given.append(WentIn(one.at_s, None))
        elif one.meaning == "fact-taken" and one.values.get("figure") == "allergies":
            self.allergies.append(str(one.values.get("value")))
        elif one.meaning == "fact-taken" and one.values.get("figure") == "allergy_denied":
            denied = str(one.values.get("value"))
            self.allergies = [known for known in self.allergies if known != denied]
        elif self._weighs(one) and isinstance(one.values.get("value"), int | float):
            self._weighed(Weighed(one.at_s, one.values["value"]))

    def _weighs(self, one: TimelineEntry) -> bool:
        told = one.meaning == "fact-taken" and one.values.get("figure") == _WEIGHT
        return told or (one.meaning == "answered" and one.values.get("item") in self._weighing)

    def _weighed(self, found: Weighed) -> None:
        for one in self.given:
            told_kg = None if one.dose is None else one.dose.entry.values.get("weight_kg")
            if one.amount is not None and told_kg is not None:
                one.put_right = found if found.weight_kg != told_kg else None

    def _went_in(self, one: TimelineEntry, undone_at_s: float | None) -> WentIn:
        drug, dose = str(one.values.get("drug", "?")), one.values.get("dose")
        told = self._last(drug)
        if dose is not None:
            return WentIn(one.at_s, drug, _amount(one.values), told, taken_back_at_s=undone_at_s)
        why = self._why_none(drug, told)
        return WentIn(one.at_s, drug, None, told, why, taken_back_at_s=undone_at_s)

    def _why_none(self, drug: str, told: SpokenDose | None) -> Reason | None:
        if told is None or told.what_if or told.held_until_s is not None:
            return None
        if self._arrested:
            return "arrest"
        if told.is_rate:
            return "rate"
        since_s = told.entry.at_s or 0.0
        stood = [one for one in self.given if one.drug == drug and one.taken_back_at_s is None]
        return "again" if any((one.at_s or 0.0) >= since_s for one in stood) else "in doubt"

    def _last(self, drug: str) -> SpokenDose | None:
        """The last dose of a drug: for this patient, or else for another weight."""
        own = [one for one in self.doses if one.entry.values.get("drug") == drug]
        return next((one for one in reversed(own) if not one.what_if), own[-1] if own else None)


def _outdate(
    dose: SpokenDose | None, outdated: TimelineEntry, before: TimelineEntry | None
) -> None:
    """It holds no more, by what was recorded just before."""
    if dose is not None and not dose.what_if:
        dose.held_until_s = outdated.at_s
        dose.outdated_by = (
            before.text if before is not None and before.at_s == outdated.at_s else ""
        )
