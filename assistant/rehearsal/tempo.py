"""How fast a brief went: per item what the assistant, the people and the deciding took."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Final

from assistant.brief.brief import Brief
from assistant.brief.phases import Phase
from assistant.journal.rows import Row
from assistant.speaking.tags import Tag

_ASKED: Final[tuple[Tag, ...]] = ("phase-done", "clock-left", "pause", "went-now")
"""The lines that say that all was asked, or all but what waits for a clock; or that there is no
time for the rest."""


@dataclass(frozen=True, slots=True)
class Pace:
    """One item, from its call to the next."""

    item: str
    speaking_s: float
    """The assistant's own speech meanwhile: the call, what it says back, what it is asked."""
    gap_s: float
    """From the last sound of the assistant to the first of the answer that settled it."""
    answer_s: float
    decision_s: float
    """From the last sound of an answer to the first of the next line; of several the longest, so
    that of a number what comes before it is read back is not hidden by the yes after it."""
    total_s: float
    """From the first sound of the call to the first of the next one."""
    asked_once: bool
    """Called once, answered at once: nothing was asked back, explained or asked in between."""


def paces(brief: Brief, rows: Sequence[Row]) -> Iterator[Pace]:
    """Every item of the phase before the attempt, in the order in which they were asked.

    An item that is asked twice, such as one with a clock, is told once for each time. One that
    was still open when the record ends, or that was put off without a word, is left out.
    """
    spoken = [row for row in rows if row.kind in ("said", "heard")]
    starts = [at for at, row in enumerate(spoken) if row.kind == "said" and _leaves_one(row)]
    items = _before(brief)
    turns = [
        (spoken[begin:end], spoken[end])
        for begin, end in pairwise(_first_calls(spoken, starts))
        if spoken[begin].item in items
    ]
    for turn, following in turns:
        pace = _pace(turn, following)
        if pace is not None:
            yield pace


def before_s(brief: Brief, rows: Sequence[Row]) -> float:
    """From the first call until all was asked before the attempt, or nobody could wait for the
    rest, in s; 0 when neither is on record.

    What of a clock still runs then is not counted, nor the pause before the drugs.
    """
    items = _before(brief)
    said = [row for row in rows if row.kind == "said"]
    began = next((row.mono_s for row in said if row.item in items), math.inf)
    done = (row.mono_s for row in said if row.meaning in _ASKED and row.mono_s > began)
    return next(done, began) - began if math.isfinite(began) else 0.0


def lines(found: Iterator[Pace], whole_s: float) -> Iterator[str]:
    """The table, with its median and its worst line, and how long all of it took."""
    rows = list(found)
    if not rows:
        yield "No item was answered."
        return
    width = max(len(one.item) for one in rows)
    yield f"{'item':<{width}}  assistant     gap  answer  decision  item, in s"
    for one in rows:
        yield _line(one.item, width, *_figures(one))
    columns = list(zip(*(_figures(one) for one in rows), strict=True))
    yield _line("median", width, *(median(column) for column in columns))
    yield _line("worst", width, *(max(column) for column in columns))
    plain = [one for one in rows if one.asked_once]
    if plain and len(plain) < len(rows):
        middle = median(one.total_s for one in plain)
        yield f"{len(plain)} of {len(rows)} asked once and answered: median {middle:.1f} s"
    yield f"The brief before the attempt: {whole_s:.0f} s"


def _before(brief: Brief) -> set[str]:
    return {item.id for item in brief.items_of(Phase.BEFORE)}


def _leaves_one(row: Row) -> bool:
    """Whether a line calls an item, or ends the brief, so that the item before it is over."""
    return row.meaning in ("ask", *_ASKED)


def _first_calls(spoken: Sequence[Row], starts: Sequence[int]) -> list[int]:
    """Of the calls of one item in a row, the first: the others belong to it."""
    kept: list[int] = []
    for start in starts:
        if not kept or spoken[kept[-1]].item != spoken[start].item:
            kept.append(start)
    return kept


def _pace(turn: Sequence[Row], following: Row) -> Pace | None:
    heard = [at for at, row in enumerate(turn) if row.kind == "heard"]
    if not heard:
        return None
    at, answer = heard[-1], turn[heard[-1]]
    before = [row for row in turn[:at] if row.kind == "said"]
    ended_s = float(answer.data.get("ended_s", answer.mono_s))
    return Pace(
        item=str(turn[0].item),
        speaking_s=sum(_lasts_s(row) for row in turn if row.kind == "said"),
        gap_s=answer.mono_s - (before[-1].mono_s + _lasts_s(before[-1])),
        answer_s=ended_s - answer.mono_s,
        decision_s=max(_decision_s((*turn[one:], following)) for one in heard),
        total_s=following.mono_s - turn[0].mono_s,
        asked_once=len(before) == 1 and len(heard) == 1,
    )


def _decision_s(rows: Sequence[Row]) -> float:
    """From the end of the answer that these rows begin with to the next line."""
    ended_s = float(rows[0].data.get("ended_s", rows[0].mono_s))
    return next(row.mono_s for row in rows[1:] if row.kind == "said") - ended_s


def _lasts_s(row: Row) -> float:
    return float(row.data.get("lasts_s", 0.0))


def _figures(one: Pace) -> tuple[float, ...]:
    return one.speaking_s, one.gap_s, one.answer_s, one.decision_s, one.total_s


def _line(name: str, width: int, *figures: float) -> str:
    speaking, gap, answer, decision, total = (f"{figure:.2f}" for figure in figures)
    return f"{name:<{width}}  {speaking:>9} {gap:>7} {answer:>7} {decision:>9} {total:>11}"
