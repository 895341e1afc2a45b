"""An item that was said to be so, and is so no more: told at any time in its phase."""

from assistant.brief.item import Standing
from assistant.brief.states import State
from tests.brief.test_pause_and_times import to_the_pause

BAGGED = ("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")


def texts(lines) -> list[str]:
    return [line.text for line in lines]


def test_it_is_asked_again_at_once_however_long_ago_it_was(opened) -> None:
    """Only "go back" helped, once another item had been answered."""
    talk = opened(*BAGGED, "nothing special")
    assert texts(talk.hears("the bag's not connected")) == ["Bag. Bag and peep valve?"]
    assert texts(talk.hears("no")) == ["Later.", "Leader. Allergies told?"]
    assert talk.case.known.items["bag-and-valve"].standing is Standing.DEFERRED


def test_misheard_it_costs_a_yes(opened) -> None:
    """The brief goes on where it was."""
    talk = opened(*BAGGED, "the mask came off")
    assert texts(talk.hears("we saw the mask held on"))[-1] == "Leader. Anything special?"
    assert talk.case.known.items["oxygen-on"].standing is Standing.RUNNING


def test_not_surely_heard_it_opens_nothing(opened) -> None:
    """It is to be said again."""
    talk = opened(*BAGGED)
    assert texts(talk.hears("the bag's not connected", sure=False)) == ["Say again?"]
    assert talk.case.known.items["bag-and-valve"].standing is Standing.DONE


def test_nothing_is_undone_that_was_not_done(opened) -> None:
    """Nor what is prepared, once the phase for that is over; as an answer it is a "not yet"."""
    talk = opened("begin")
    talk.hears("the bag's not connected")
    assert talk.heard is None or talk.heard.kind == "ignored"
    talk.hears("the mask's not sealed")
    assert talk.case.known.items["oxygen-on"].standing is Standing.DEFERRED
    talk = opened(*BAGGED, "begin the attempt", "tube in")
    talk.hears("the bag's not connected")
    assert talk.heard is None or talk.heard.kind == "ignored"


def test_at_the_pause_it_leads_back_to_it(opened) -> None:
    """All is summed up anew, with what is open."""
    talk = opened("begin")
    to_the_pause(talk)
    assert talk.case.state is State.PAUSING
    assert "suction" in texts(talk.hears("the suction's not working"))[-1]
    said = texts(talk.hears("no"))
    assert talk.case.state is State.PAUSING
    assert "suction" in " ".join(said)
