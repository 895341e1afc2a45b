"""The table of states: everything that may be said there is done, and there is always a way on."""

from assistant.brief.meanings import ACTS
from assistant.brief.states import ANSWER, BACK, DIGITS, DOUBTED, LAID_ASIDE, STATES, VITAL, State
from assistant.brief.transitions import one_of

WAYS_BACK = {BACK, DOUBTED, LAID_ASIDE}


def test_everything_that_may_be_said_has_something_that_is_done() -> None:
    """Of every state, also a yes and a no where they are heard."""
    for state, row in STATES.items():
        for meaning in row.hears:
            if meaning not in (ANSWER, DIGITS):
                assert row.act(meaning) in ACTS, (state, meaning)


def test_a_yes_means_something_wherever_one_is_heard_and_nowhere_else() -> None:
    """The same of a no; an item that is asked brings its own answers."""
    for state, row in STATES.items():
        awaits = "confirm" in row.hears or ANSWER in row.hears
        assert bool(row.yes) == bool(row.no) == awaits, state


def test_no_state_is_a_dead_end_but_the_last() -> None:
    """From every state, by some events, a case can be ended."""
    reached = {State.ENDED}
    for _ in State:
        for state, row in STATES.items():
            leads = set(row.leads.values())
            ways_back = {one for lead in leads & WAYS_BACK for one in one_of(str(lead))}
            if (leads | ways_back) & reached:
                reached.add(state)
    assert reached == set(State)


def test_vital_words_are_heard_in_every_state_but_the_last() -> None:
    """Whatever is asked, held or read back; and an attempt listens for hardly anything else."""
    for state, row in STATES.items():
        assert set(VITAL) <= set(row.hears) or state is State.ENDED, state
    attempting = set(STATES[State.ATTEMPTING].hears)
    assert attempting - set(VITAL) == {
        "attempt_in_doubt",
        "wave_in_doubt",
        "drug_given",
        "saturation",
        "elapsed",
        "pulse_back",
        "back",
    }
