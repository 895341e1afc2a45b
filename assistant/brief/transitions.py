"""The table of the states walked: every event in every state, and where it leads."""

from collections.abc import Iterator, Mapping
from typing import Final, NamedTuple

from assistant.brief.states import (
    ASIDES,
    BACK,
    CUT_SHORT,
    DOUBTED,
    FROM_ANYWHERE,
    HOLD_OVER,
    LAID_ASIDE,
    STATES,
    STAYING,
    VITAL_LEADS,
    S,
    State,
)

BEGUN_IN: Final = (S.OPENED, S.ASKING, S.PAUSING, S.READY, S.ATTEMPTING)
"""Where a hold may have been begun; one that interrupts a read-back goes back to its item."""
_ONE_OF: Final[Mapping[str, tuple[State, ...]]] = {
    BACK: (*BEGUN_IN, S.HELD),
    HOLD_OVER: BEGUN_IN,
    DOUBTED: tuple(one for one in STATES if one not in (S.DOUBTING, S.ENDED)),
    CUT_SHORT: tuple(one for one in STATES if one not in (S.IDENTIFYING, S.ENDED)),
    LAID_ASIDE: tuple(one for one, row in STATES.items() if row.comes_back),
}


def one_of(way: str) -> tuple[State, ...]:
    """The states to one of which `BACK`, or another of the ways back, leads."""
    return _ONE_OF[way]


class Transition(NamedTuple):
    """An event that leads from one state to another."""

    event: str
    source: State
    dest: State | None
    """None: the state stays."""
    back: str = ""
    """Of several ways back, `BACK`, `HOLD_OVER`, `DOUBTED`, `CUT_SHORT` or `LAID_ASIDE`: taken when
    `dest` is that state."""


def transitions() -> Iterator[Transition]:
    """The whole table, a row for each event in each state."""
    for source, row in STATES.items():
        for event, dest in row.leads.items():
            if isinstance(dest, State):
                yield Transition(event, source, dest)
            else:
                yield from (Transition(event, source, one, back=dest) for one in one_of(dest))
        if source is not S.ENDED:
            yield from (Transition(event, source, dest) for event, dest in FROM_ANYWHERE.items())
            yield from (Transition(event, source, None) for event in STAYING)


def begins_aside(event: str) -> bool:
    """Whether an event leads into an aside."""
    return event in ASIDES or event in ("arrest", "taken-up")


def begins_hold(event: str) -> bool:
    """Whether nothing is asked after it until somebody says to go on."""
    return event in ("held", "arrest")


def breaks_off(event: str) -> bool:
    """Whether an event breaks off whatever is being asked, which then comes back later."""
    return event in VITAL_LEADS and event != "vital-doubted"
