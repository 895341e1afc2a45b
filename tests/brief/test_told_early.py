"""A choice or a role that is told before its question, while an offer is asked."""

import pytest

from assistant.brief.item import Standing

FAILED = ("begin the attempt", "attempt failed")


def texts(lines) -> list[str]:
    return [line.text for line in lines]


@pytest.fixture
def failed(opened):
    """A case in which an attempt has failed: "Say what changes", and the bag is offered."""
    talk = opened(*FAILED)
    assert talk.case.known.current == "pace-between"
    return talk


def test_what_was_asked_for_is_taken_while_the_bag_is_offered(failed) -> None:
    """It asked for what changes, and was deaf to the answer; the offer stands."""
    assert texts(failed.hears("a bougie")) == ["A bougie.", "Pace the bag?"]
    assert texts(failed.hears("the consultant")) == ["The consultant.", "Pace the bag?"]
    failed.hears("no")
    known = failed.case.known
    assert known.current == "oxygen-back"
    assert [known.items[one].value for one in ("what-changes", "who-goes-next")] == [
        "guide",
        "consultant",
    ]


def test_it_is_asked_again_by_whoever_goes_back(failed) -> None:
    """So a choice that was misheard is put right."""
    failed.hears("a bougie")
    failed.hears("go back")
    assert failed.case.known.current == "what-changes"
    assert texts(failed.hears("suction first"))[0] == "Suction first."


def test_what_was_not_surely_heard_is_read_back(failed) -> None:
    """As it is after its question."""
    assert texts(failed.hears("a bougie", sure=False)) == ["I heard a bougie. Correct?"]
    failed.hears("no")
    assert failed.case.known.items["what-changes"].standing is Standing.OPEN


def test_a_yes_to_the_offer_chooses_nothing(failed) -> None:
    """It begins the pacing."""
    failed.hears("yes")
    assert failed.case.known.pacing
    assert failed.case.known.current == "what-changes"


def test_nothing_is_told_early_while_a_question_is_asked(failed) -> None:
    """A role that is named then may be about anything."""
    failed.hears("no")
    assert failed.case.known.current == "what-changes"
    assert not failed.hears("the consultant")
    assert failed.case.known.items["who-goes-next"].standing is Standing.OPEN
