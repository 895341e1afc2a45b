"""What was told of drugs: each dose that was spoken and how long it held, and what went in."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from assistant.brief.clocks import DRUGS_CLOCK
from assistant.debrief.entries import TimelineEntry
from assistant.debrief.spans import Span


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
    def amount(self) -> str:
        """With its unit."""
        return f"{self.entry.values.get('dose', '?')} {self.entry.values.get('unit', '')}".strip()

    @property
    def told_for(self) -> str:
        """The weight that it was told for."""
        weight = self.entry.values.get("weight_kg")
        return "no weight needed" if weight is None else f"{weight} kg"


@dataclass(frozen=True, slots=True)
class WentIn:
    """A drug that was told to be in; or the drugs, without their names."""

    at_s: float | None
    drug: str | None
    amount: str | None
    """The dose that had been told for this patient and held; None without one."""
    told_before: SpokenDose | None = None
    """Without such a dose: the last one that had been told, for this patient if there was one."""


@dataclass(frozen=True, slots=True)
class Drugs:
    """All of it, in the order in which it was told."""

    doses: tuple[SpokenDose, ...]
    given: tuple[WentIn, ...]


def drugs_of(entries: Sequence[TimelineEntry], taken_back: Sequence[Span] = ()) -> Drugs:
    """Read off the rows of events, which needs no brief.

    `taken_back` are the stretches, in s of the case, whose words were not meant: what they led to
    did not happen.
    """
    doses: list[SpokenDose] = []
    given: list[WentIn] = []
    before: TimelineEntry | None = None
    for one in _events(entries, taken_back):
        if one.meaning == "dose-told":
            doses.append(SpokenDose(one))
        elif one.meaning == "doses-outdated":
            for drug in one.values.get("drugs", []):
                _outdate(_last(doses, drug), one, before)
        elif one.meaning == "drug-given":
            given.append(_went_in(one, doses))
        elif _drugs_in(one) and one.at_s not in [known.at_s for known in given]:
            given.append(WentIn(one.at_s, None, None))
        before = one
    return Drugs(tuple(doses), tuple(given))


def _drugs_in(one: TimelineEntry) -> bool:
    """Their clock began; a drug that was named has begun it at that very moment."""
    return one.meaning == "clock-started" and one.values.get("clock") == DRUGS_CLOCK


def _events(
    entries: Iterable[TimelineEntry], taken_back: Sequence[Span]
) -> Iterator[TimelineEntry]:
    for one in entries:
        at_s = one.at_s or 0.0
        undone = any(begin <= at_s < end for begin, end in taken_back)
        # What the assistant says of a dose has the same meaning as the row of the event.
        if one.kind == "event" and (one.meaning == "dose-told" or not undone):
            yield one


def _last(doses: Sequence[SpokenDose], drug: str) -> SpokenDose | None:
    """The last dose of a drug: for this patient, or else for another weight."""
    own = [one for one in doses if one.entry.values.get("drug") == drug]
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


def _went_in(one: TimelineEntry, doses: Sequence[SpokenDose]) -> WentIn:
    drug, dose = str(one.values.get("drug", "?")), one.values.get("dose")
    if dose is not None:
        return WentIn(one.at_s, drug, f"{dose} {one.values.get('unit')}")
    return WentIn(one.at_s, drug, None, _last(doses, drug))
