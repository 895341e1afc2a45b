"""docs/states.md is the machine, and is not out of date."""

import re
from pathlib import Path

from transitions.extensions import GraphMachine

from assistant.brief.case import machine
from assistant.brief.states import DOUBTED, HOLD_OVER, STATES, State
from assistant.brief.transitions import one_of, transitions
from assistant.commands.states_page import ANYWHERE, WHERE_IT_WAS, page

ROOT = Path(__file__).parents[2]
ARROW = re.compile(r"^ *(\w+) --> (\w+): (.+)$", re.MULTILINE)


def drawn() -> set[tuple[str, str, str]]:
    """Every edge of the page, with `where it was begun` and `wherever the case is` spelt out."""
    spelt = {
        name: [state.value for state in one_of(way)]
        for name, way in ((WHERE_IT_WAS, HOLD_OVER), (ANYWHERE, DOUBTED))
    }
    spelt[ANYWHERE].remove(State.IDENTIFYING.value)  # left at a vital word, before that leads on
    return {
        (one, other, event)
        for source, dest, events in ARROW.findall(page())
        for one in spelt.get(source, [source])
        for other in spelt.get(dest, [dest])
        for event in events.split(", ")
    }


def test_the_page_is_not_out_of_date() -> None:
    """The committed page is what the table draws today."""
    written = (ROOT / "docs" / "states.md").read_text(encoding="utf-8")
    assert written == page(), "run: python -m assistant.commands.states_page > docs/states.md"


def test_the_page_draws_the_edges_that_the_library_draws() -> None:
    """The library's own Mermaid export of the same table has the same edges, one by one."""
    machine = GraphMachine(
        states=State,
        initial=State.OPENED,
        auto_transitions=False,
        graph_engine="mermaid",
        transitions=[
            {"trigger": one.event, "source": one.source, "dest": one.dest} for one in transitions()
        ],
    )
    exported = {
        (source.lower(), dest.lower(), event)
        for source, dest, events in ARROW.findall(machine.get_graph().source)
        for event in events.split(" | ")
        if not event.endswith("[internal]")
    }
    assert drawn() == exported


def test_the_page_draws_the_machine_that_runs() -> None:
    """The machine of a case has no edge that the page lacks, and the page none that it lacks."""
    runs = {
        (State[edge.source].value, State[edge.dest].value, name)
        for name, event in machine().events.items()
        for edges in event.transitions.values()
        for edge in edges
        if edge.dest is not None
    }
    assert drawn() == runs


def test_every_state_stands_in_the_table_once() -> None:
    """The table explains each state of the machine, and no other."""
    rows = re.findall(r"^\| ([a-z]+) \|", page(), re.MULTILINE)
    assert rows == [state.value for state in State]
    assert set(STATES) == set(State)
