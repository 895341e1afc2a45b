"""docs/states.md, drawn from the table of states that the machine itself is made of.

`python -m assistant.commands.states_page > docs/states.md` writes the page anew.
"""

import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator

from assistant.brief.attempt import SAID_AGAIN_WITHIN_S
from assistant.brief.states import (
    ANSWER,
    FROM_ANYWHERE,
    LATE,
    STATES,
    STAYING,
    VITAL,
    VITAL_EVENTS,
    VITAL_LEADS,
    State,
)
from assistant.brief.transitions import BEGUN_IN, transitions
from assistant.brief.turns import IN_AN_ATTEMPT_S, TAKEN_BACK_WITHIN_S

WHERE_IT_WAS = "begun"
ANYWHERE = "anywhere"

Edge = tuple[str, str, str]
"""Source, destination, event."""

_PAGE = """\
# The states of a case

<!-- Drawn by `python -m assistant.commands.states_page`; a test fails when it is out of date. -->

A case is always in one of {count} states. What is asked is the site's own data. The states, and
what leads from one to the next, are the table `STATES` in `assistant/brief/states.py`, from which
this page is drawn. An event that a state does not list cannot happen in it.

| State | What goes on | What is listened for |
|---|---|---|
{states}

*Answers* are those that fit the kind of item: yes or not yet, one of several, a role, a number.
The words for each meaning are the site's, in its `wording.yaml`.

## The course of a case

```mermaid
stateDiagram-v2
  [*] --> {initial}
{course}
```

`asked` opens an item, and `answered` or `deferred` settles it; `value-heard` reads a value back.
`went-now` leaves whatever is open because the patient cannot wait.

## Asides

A dose question, a fact about the patient, a recipe, a hold and the end of a case may come at any
time. Each returns to where it began: {begun_in}. If it began during a read-back it returns to the
item, which is asked again; if during a hold, to the hold, as long as nobody has said to go on.

```mermaid
stateDiagram-v2
  state "where it began" as {where}
{asides}
```

## Vital words

{vital} are heard in every state but {never}, and lead on from there. One that was not certainly
heard is asked back ({doubting}) and counts after a yes. What was being asked is broken off and
comes back: a dose question, a fact or a recipe is taken up again, an item is asked again. When a
case that was cut short goes on after a while, wherever it was, it first asks whether this is
still the same patient ({identifying}).

Asked back however surely they were heard: the words of an attempt once an airway is in, its
beginning while the neck is next, "through the cords" in an attempt, and a failure before anything
was begun, or more than {said_again_s:g} s after the last one.

"No wait" takes back a word that turned the case, a fact, a drug that is in or a dose, if it is said
within {taken_back_s:g} s, in an attempt within {in_attempt_s:g} s: the case is then as it was.

```mermaid
stateDiagram-v2
  state "wherever the case is" as {anywhere}
{turns}
```

## What changes no state

{staying} may happen in every state but {never}.
`gave-way` means that the conversation fell silent for the watcher's call; what was open is then
asked again.
"""


def page() -> str:
    """The whole page, in Markdown."""
    edges = list(_edges())
    turns = [edge for edge in edges if edge[2] in _TURNS]
    inside, outside = _parted(edge for edge in edges if edge not in turns)
    never = [state.value for state, row in STATES.items() if not row.leads]
    return _PAGE.format(
        count=_COUNTS[len(State)],
        states="\n".join(_row(state) for state in State),
        initial=State.OPENED.value,
        course="\n".join(_arrows(inside)),
        begun_in=_listed([state.value for state in BEGUN_IN], "or"),
        where=WHERE_IT_WAS,
        asides="\n".join(_arrows(_folded(outside, BEGUN_IN, WHERE_IT_WAS))),
        vital=_listed([f"*{word.replace('_', ' ')}*" for word in VITAL], "and").capitalize(),
        doubting=State.DOUBTING.value,
        identifying=State.IDENTIFYING.value,
        anywhere=ANYWHERE,
        turns="\n".join(_arrows(_folded(turns, _turned_anywhere(), ANYWHERE))),
        said_again_s=SAID_AGAIN_WITHIN_S,
        taken_back_s=TAKEN_BACK_WITHIN_S,
        in_attempt_s=IN_AN_ATTEMPT_S,
        staying=_listed([f"`{event}`" for event in STAYING], "and"),
        never=_listed(never, "and"),
    )


_OF_ITEMS = {ANSWER: "answers to the item", LATE: "what was put off"}
_TURNS = (*VITAL_EVENTS, "doubt-settled", *FROM_ANYWHERE, "patient-settled")
_COUNTS = {9: "nine", 10: "ten", 11: "eleven", 12: "twelve", 13: "thirteen", 14: "fourteen"}


def _turned_anywhere() -> list[State]:
    return [state for state, row in STATES.items() if VITAL_LEADS.keys() <= row.leads.keys()]


def _row(state: State) -> str:
    row = STATES[state]
    hears = [_OF_ITEMS.get(meaning, meaning.replace("_", " ")) for meaning in row.hears]
    return f"| {state.value} | {row.about} | {', '.join(hears) or 'nothing'} |"


def _edges() -> Iterator[Edge]:
    for one in transitions():
        if one.dest is not None:
            yield one.source.value, one.dest.value, one.event


def _parted(edges: Iterable[Edge]) -> tuple[list[Edge], list[Edge]]:
    """The edges of the case's course, and those that lead into or out of an aside."""
    asides = {state.value for state, row in STATES.items() if row.aside}
    inside: list[Edge] = []
    outside: list[Edge] = []
    for edge in edges:
        (inside if asides.isdisjoint(edge[:2]) else outside).append(edge)
    return inside, outside


def _folded(edges: list[Edge], states: Iterable[State], name: str) -> list[Edge]:
    """Equal edges from, or to, each of those states become one, from or to that name."""
    begun_in = {state.value for state in states}
    sources: dict[tuple[str, str], set[str]] = defaultdict(set)
    dests: dict[tuple[str, str], set[str]] = defaultdict(set)
    for source, dest, event in edges:
        sources[dest, event].add(source)
        dests[source, event].add(dest)
    folded: dict[Edge, None] = {}
    for source, dest, event in edges:
        from_any = source in begun_in and begun_in <= sources[dest, event]
        to_any = dest in begun_in and begun_in <= dests[source, event]
        edge = (name if from_any else source, name if to_any else dest, event)
        folded[edge] = None
    return list(folded)


def _arrows(edges: Iterable[Edge]) -> Iterator[str]:
    events: dict[tuple[str, str], list[str]] = {}
    for source, dest, event in edges:
        events.setdefault((source, dest), []).append(event)
    for (source, dest), names in events.items():
        yield f"  {source} --> {dest}: {', '.join(names)}"


def _listed(words: list[str], last: str) -> str:
    return " ".join(filter(None, (", ".join(words[:-1]), last if words[1:] else "", words[-1])))


if __name__ == "__main__":
    sys.stdout.write(page())
