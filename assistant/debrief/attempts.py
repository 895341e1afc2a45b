"""Each attempt: when, how it ended, who took it and what was changed, as far as told."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.brief.brief import Brief
from assistant.brief.case import Case
from assistant.brief.events.asking import Answered
from assistant.brief.events.course import AttemptStarted
from assistant.brief.events.vital import TubeOut
from assistant.brief.phases import Phase
from assistant.brief.valued_items import ChooseItem, NameItem
from assistant.debrief.replayed import Happening


@dataclass(frozen=True, slots=True)
class AttemptRun:
    """One attempt, as it was said aloud to begin and to end."""

    number: int
    started_at_s: float
    lasted_s: float | None
    """None when the record does not say, or the machine was started anew meanwhile."""
    outcome: str | None
    """`failed`, `tube in`, `tube out`, or `no wave` of a tube whose wave was denied; None when the
    record does not say."""
    beyond: bool = False
    """It was one more than the team had agreed on."""
    told: tuple[str, ...] = ()
    """Who takes it and what changes, by the items that ask for that: "what changes: a bougie"."""
    ended_at_s: float | None = None
    """When it was told to be over; None when the record does not say."""


def attempts(case: Case, happenings: Sequence[Happening], began_s: float) -> Iterator[AttemptRun]:
    """In order; `happenings` are without what was taken back."""
    for number, one in enumerate(case.known.attempts, 1):
        lasted_s = ended_at_s = None
        if one.ended_s is not None:
            ended_at_s = round(one.ended_s - began_s, 2)
            lasted_s = None if one.unknown else round(one.ended_s - one.started_s, 2)
        outcome: str | None = one.outcome
        if outcome == "tube out" and _gave_no_wave(happenings, ended_at_s or 0.0):
            outcome = "no wave"
        started_at_s = round(one.started_s - began_s, 2)
        told = tuple(_told(case.brief, happenings, started_at_s))
        yield AttemptRun(number, started_at_s, lasted_s, outcome, one.beyond, told, ended_at_s)


def _gave_no_wave(happenings: Sequence[Happening], since_s: float) -> bool:
    """Whether the tube counts as out because its wave was denied; nobody said that it is out."""
    out = (one for one in happenings if one.at_s >= since_s and isinstance(one.event, TubeOut))
    first = next(out, None)
    return first is not None and first.item is not None


def _told(brief: Brief, happenings: Sequence[Happening], started_at_s: float) -> Iterator[str]:
    """The last answers since the attempt before: for the first one of the brief before it, for
    another one of what is asked between two."""
    answers: dict[str, str] = {}
    first = True
    for one in happenings:
        if one.at_s >= started_at_s:
            break
        if isinstance(one.event, AttemptStarted):
            first, answers = False, {}
        elif isinstance(one.event, Answered) and _is_about(brief, one.event.item, first=first):
            answers[one.event.item] = one.event.spoken
    for item, spoken in answers.items():
        yield f"{brief.item(item).label}: {spoken}"


def _is_about(brief: Brief, id_: str, *, first: bool) -> bool:
    if first:
        return id_ in brief.attempts.first_told_by
    item = brief.item(id_)
    return isinstance(item, NameItem | ChooseItem) and item in brief.items_of(Phase.BETWEEN)
