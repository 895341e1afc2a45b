"""What the watcher sees beside what is said; what does not apply; a clock that runs once more."""

from dataclasses import replace

import pytest

from assistant.brief.item import Standing
from assistant.brief.states import State
from assistant.rehearsal.text_case import TextCase
from tests.brief.test_told_later import TO_THE_SUCTION, standing, texts
from tests.tarn_hollow import SITE


@pytest.fixture
def at_the_saturation():
    """A case in which it is asked whether the saturation stays up."""
    case = TextCase(SITE)
    for words in (*TO_THE_SUCTION, "both working", "both here"):
        case.hears(words)
    assert case.case.known.current == "saturation"
    yield case
    case.close()


@pytest.mark.parametrize("words", ["staying up", "yes", "ninety eight"])
def test_what_is_seen_goes_before_what_is_said(at_the_saturation, words) -> None:
    """The screen says eighty-eight."""
    case = at_the_saturation
    case.called(88)
    said = texts(case.hears(words))
    assert any(one.startswith("I see eighty-eight;") for one in said)
    assert standing(case, "saturation") is not Standing.DONE


def test_what_is_seen_to_be_so_is_no_obstacle(at_the_saturation) -> None:
    """Nor is a probe that sees nothing."""
    case = at_the_saturation
    case.hears("staying up")
    assert standing(case, "saturation") is Standing.DONE


def test_a_saturation_that_has_fallen_is_open_at_the_pause(at_the_saturation) -> None:
    """ "Saturation eighty-eight. Nothing open." it said in one breath."""
    case = at_the_saturation
    case.hears("staying up")
    case.called(88)
    case.waits(170)
    said = texts(case.hears("we saw the mask held on"))[-1]
    assert "Saturation eighty-eight." in said
    assert "Nothing open" not in said
    assert "saturation" in said.partition("open: ")[2]
    assert case.case.state is State.PAUSING
    assert texts(case.hears("no"))[-1].endswith("Saturation ninety-six or more?")


def test_oxygen_is_not_back_while_it_is_seen_to_be_low() -> None:
    """ "Ready for the next attempt" was said at eighty-eight."""
    case = TextCase(SITE)
    for words in ("we must go now", "begin the attempt", "abort", "not yet", "another blade", "me"):
        case.hears(words)
    case.called(88)
    said = texts(case.hears("it's back"))
    assert any(one.startswith("I see eighty-eight;") for one in said)
    assert "Keep bagging." in said
    assert SITE.brief.attempts.ready not in said
    case.close()


def test_a_mask_that_leaked_is_not_said_to_be_on(at_the_saturation) -> None:
    """ "Oxygen on." was the answer to "leaking"."""
    case = at_the_saturation
    case.hears("staying up")
    case.waits(170)
    assert texts(case.hears("leaking"))[0] == "Again, sixty seconds."
    assert standing(case, "oxygen-on") is Standing.RUNNING
    assert "Three" not in texts(case.waits(60))[-1]


def test_what_does_not_apply_begins_nothing() -> None:
    """Nobody needs oxygen, and its clock was started."""
    brief = SITE.brief
    sections = [
        section.model_copy(
            update={
                "items": tuple(
                    item.model_copy(update={"does_not_apply": ("no oxygen needed",)})
                    if item.id == "oxygen-on"
                    else item
                    for item in section.items
                )
            }
        )
        for section in brief.sections
    ]
    site = replace(SITE, brief=brief.model_copy(update={"sections": tuple(sections)}))
    case = TextCase(site)
    case.hears("begin")
    said = texts(case.hears("no oxygen needed"))
    assert "Oxygen on." not in said
    assert standing(case, "oxygen-on") is Standing.DONE
    assert not case.case.known.clocks
    case.close()


def test_a_brief_that_does_not_wait_tells_how_long_a_clock_has_run() -> None:
    """It named the oxygen that was on among what is open."""
    case = TextCase(SITE)
    for words in (
        *("immediate brief", "we saw the mask held on", "seven zero kilos", "yes"),
        *("we went through the allergies", "the consultant", "drawn up and labeled", "tested"),
        "both working",
    ):
        case.hears(words)
    said = texts(case.hears("both here"))[-1]
    assert "Oxygen on: " in said
    assert "Nothing open." in said
    case.close()


def test_what_is_known_of_the_patient_is_told_to_whoever_asks(at_the_saturation) -> None:
    """Nobody has to wait for the pause."""
    case = at_the_saturation
    said = texts(case.hears("what is the weight"))
    assert said[0].startswith("Seventy kilograms. Pressure one hundred and thirty.")
    assert case.case.known.current == "saturation"


def test_a_fall_at_the_pause_is_told_before_it_is_passed(at_the_saturation) -> None:
    """Once; who says it again goes on."""
    case = at_the_saturation
    case.hears("staying up")
    case.waits(170)
    assert "Nothing open" in texts(case.hears("we saw the mask held on"))[-1]
    case.called(88)
    assert "saturation" in texts(case.hears("clear to go"))[-1].partition("open: ")[2]
    assert case.case.state is State.PAUSING
    case.hears("clear to go")
    assert case.case.state is State.READY
