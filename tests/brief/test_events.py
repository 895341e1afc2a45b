"""What happens in a case: checked when it is made, before it is written, and when it is read."""

import dataclasses

import pytest
from pydantic import ValidationError

from assistant.brief.case import Case, ImpossibleEvent
from assistant.brief.events.asides import DoseQueried, FactTaken, Resumed
from assistant.brief.events.asking import Answered, Asked, WentNow
from assistant.brief.events.course import AttemptFailed
from assistant.brief.events.stored import EVENTS, UnreadableEvent, read_stored, stored
from assistant.brief.states import FROM_ANYWHERE, STATES, STAYING, State
from assistant.brief.unsettled import Wanted
from assistant.journal.rows import Row

QUERIED = DoseQueried(
    drug="rocuronium", weight_kg=70, what_if=False, wanted=Wanted.VOLUME, low_pressure=False
)


def row(**data: object) -> Row:
    """A row of an event, as it stands in the record."""
    return Row(1.0, "", False, "assistant", "event", "something happened", data=data)


def test_every_event_stands_in_the_table_of_states_and_no_other() -> None:
    """An event that leads nowhere would be refused in every state."""
    named = {event for state in STATES.values() for event in state.leads}
    named |= {*STAYING, *FROM_ANYWHERE}
    assert named == set(EVENTS)


def test_an_event_with_a_wrong_value_cannot_be_made() -> None:
    """A misspelt name, a missing value and one of another type are all refused at once."""
    for values in ({"itm": "mask"}, {}, {"item": 3}, {"item": "mask", "more": 1}):
        with pytest.raises(ValidationError):
            Asked(**values)
    with pytest.raises(ValidationError):
        FactTaken(figure="wieght_kg", value=70, spoken="seventy kilograms")
    with pytest.raises(dataclasses.FrozenInstanceError):
        Asked(item="mask").item = "weight"


def test_an_event_comes_back_from_the_record_as_it_was() -> None:
    """With its version, and with every value of its own type."""
    for event in (
        QUERIED,
        Answered(item="weight", value=70, spoken="seventy kilograms"),
        FactTaken(figure="low_pressure", value=True, spoken="blood pressure low"),
        WentNow(open_items=["mask", "weight"]),
        AttemptFailed(),
    ):
        data = stored(event)
        assert data["version"] == 1
        assert read_stored(data) == event


def test_a_row_from_before_versions_were_written_is_read() -> None:
    """Its values are those of the first version."""
    data = stored(QUERIED)
    del data["version"]
    assert read_stored(data) == QUERIED


def test_what_this_program_cannot_know_is_told(site) -> None:
    """A later version, an unknown name, a value that is no more: each says why."""
    for data, why in (
        ({"event": "asked", "version": 2, "item": "mask"}, "version 2"),
        ({"event": "sung", "version": 1}, "'sung'"),
        ({"event": "asked", "version": 1, "itm": "mask"}, "wrong value"),
    ):
        with pytest.raises(UnreadableEvent, match=why):
            read_stored(data)


def test_an_impossible_event_is_refused_and_changes_nothing(table) -> None:
    """Nothing can be resumed that was never held."""
    before = dataclasses.replace(table.case.known)
    with pytest.raises(ImpossibleEvent):
        table.case.check(Resumed())
    with pytest.raises(ImpossibleEvent):
        table.case.apply(row(event="resumed"))
    assert (table.case.state, table.case.known) == (State.OPENED, before)


def test_a_case_opens_again_whatever_stands_in_its_record(site) -> None:
    """What cannot be applied is left out and told, and what follows still counts."""
    case = Case.rebuilt(
        site.brief,
        (
            row(event="asked", item="oxygen-on"),
            row(event="asked", version=7, item="oxygen-on"),
            row(event="resumed"),
            row(event="answered", item="no-such-item", value="confirmed", spoken="confirmed"),
            row(event="held"),
        ),
    )
    assert case.state is State.HELD
    assert len(case.unread) == 3


def test_a_case_that_could_not_be_read_whole_says_so(site) -> None:
    """Aloud, when it goes on."""
    from assistant.brief.caller import Caller

    case = Case.rebuilt(site.brief, (row(event="asked", version=7, item="oxygen-on"),))
    said = [step for step in Caller(site, case).restarted(rebooted=False) if hasattr(step, "tag")]
    assert site.wording.live.record_unread in [line.text for line in said]
