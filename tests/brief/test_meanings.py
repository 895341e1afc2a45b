"""The table of what people may mean: nothing is missing from it, and no row of it is in vain."""

from assistant.brief.asked_back import ask_back
from assistant.brief.meanings import ACTS, MEANINGS
from assistant.brief.states import ANSWER, DIGITS, FACTS, INSTEAD, NOT_SO, STATES, UNDONE, VITAL
from assistant.brief.unsure import as_heard
from tests.tarn_hollow import SITE

MARKERS = {ANSWER, DIGITS}
"""They stand in `hears` for answers to an item."""
HEARD = {meaning for row in STATES.values() for meaning in row.hears} - MARKERS
ANSWERING = {meaning for item in SITE.brief.items() for meaning in item.answered_by}
"""The example site has an item of every kind."""


def test_what_may_be_said_has_a_row_and_every_row_may_be_said() -> None:
    """In some state, in answer to some item, or of the item before."""
    assert set(MEANINGS) == HEARD | ANSWERING | {NOT_SO, INSTEAD, UNDONE}


def test_every_meaning_does_something_in_each_state_that_hears_it() -> None:
    """A yes and a no have no act of their own: the state says what they do."""
    for state, row in STATES.items():
        hears = set(row.hears) - MARKERS
        for meaning in hears | (ANSWERING if ANSWER in row.hears else set()):
            assert row.act(meaning) in ACTS, (state, meaning)


def test_an_unsure_fact_is_read_back_as_a_sure_one_is_and_a_vital_word_is_asked_back() -> None:
    """Whoever has told a weight, or that the tube is out, is not just asked to say it again."""
    assert {one for one in FACTS if MEANINGS[one].unsure is not as_heard} == set()
    assert {one for one in VITAL if MEANINGS[one].unsure is not ask_back} == set()
