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


def test_who_agrees_that_it_is_off_does_not_put_it_on(opened) -> None:
    """ "The bag's not connected." "Yeah.": that yes is read back, and a telling answer counts."""
    talk = opened(*BAGGED, "nothing special", "the bag's not connected")
    assert texts(talk.hears("yeah")) == ["Bag and valve, yes?"]
    talk.hears("no")
    assert talk.case.known.items["bag-and-valve"].standing is not Standing.DONE
    talk.hears("bag and valve on")
    assert talk.case.known.items["bag-and-valve"].standing is Standing.DONE


def test_no_wait_takes_it_back(opened) -> None:
    """The item that had been settled last was opened instead, though it were the weight."""
    talk = opened(*BAGGED, "nothing special", "the bag's not connected")
    said = texts(talk.hears("no wait"))
    assert said == [
        "Taken back: the bag's not connected.",
        "Have you told everyone what the patient is allergic to?",
    ]
    assert talk.case.known.items["bag-and-valve"].standing is Standing.DONE


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


def test_the_time_of_what_is_so_no_more_counts_no_more(opened) -> None:
    """ "Oxygen on: one minute" was told, and its end waited for, with the mask off."""
    talk = opened(*BAGGED, "the mask came off", "no")
    assert not any("oxygen on" in one.lower() for one in texts(talk.hears("time check")))
    talk.hears("go back")  # the time was not waited for, so that its end is not asked for
    assert texts(talk.lines[-1:]) == ["Bag. Flush oxygen, mask sealed?"]
    talk.hears("we saw the mask held on")
    assert talk.case.known.items["oxygen-on"].standing is Standing.RUNNING
    assert texts(talk.hears("time check"))[0].startswith("Oxygen on: one second")


def test_what_a_shorter_brief_does_not_ask_stays_open(opened) -> None:
    """Asked once, it was forgotten at the next question, and no summary named it."""
    talk = opened(*BAGGED, "immediate brief")
    talk.hears("the bag's not connected")
    talk.hears("what is the saturation")
    assert "bag and valve" in texts(talk.hears("what is left"))[0]


def test_it_is_heard_also_once_its_time_is_up(opened) -> None:
    """Until that was asked, nobody heard that the mask had come off."""
    talk = opened(*BAGGED)
    talk.waits(185)
    assert talk.case.known.items["oxygen-on"].standing is Standing.DUE
    assert "was the mask sealed" in texts(talk.hears("the mask came off"))[-1]
    assert texts(talk.hears("no"))[0] == "Again, sixty seconds."
