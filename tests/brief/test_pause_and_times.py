"""Before the drugs nothing passes unsaid; and what is called of the time, in few words."""

import pytest

from assistant.brief.states import State
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import WORD_S, duration_s
from tests.brief.conftest import SITE
from tests.tarn_hollow import TELLING


def to_the_pause(talk: TextCase, *, but: tuple[str, ...] = ()) -> None:
    """Answer all of the brief, but for those items; they are said to be not yet."""
    talk.hears("planned brief")
    while talk.case.state is State.ASKING:
        item = talk.case.known.current
        if item is None:
            talk.waits(181)
        elif item in but:
            talk.hears("not yet")
        else:
            talk.hears(TELLING.get(item, "yes confirmed"))
            if talk.case.state is State.CHECKING:
                talk.hears("yes correct")


def test_the_pause_sums_up_in_one_breath(opened) -> None:
    """Weight, doses asked for, saturation, allergy, who, and what is open, the vital ones first."""
    talk = opened()
    talk.called(96)
    to_the_pause(talk, but=("suction", "failed-attempts"))
    told = ("the patient is allergic to sulphites", "yes correct")
    for words in (*told, "dose of rocuronium", "yes correct"):
        talk.hears(words)
    assert talk.case.state is State.PAUSING
    (_, pause) = talk.hears("say that again")  # the dose as well
    assert pause.text == (
        "Pause. Seventy kilograms. Rocuronium eighty-four milligrams. Saturation ninety-six. "
        "Pressure one hundred and forty. Allergic to sulphites. First attempt the registrar. "
        "Next attempt the consultant. Front of neck the consultant. "
        "Two open: failed attempts, suction. Clear to give the drugs?"
    )


@pytest.mark.parametrize("words", ["yes", "done"])
def test_a_plain_yes_does_not_end_the_pause(opened, words) -> None:
    """It is told what does."""
    talk = opened()
    to_the_pause(talk)
    (line,) = talk.hears(words)
    assert line.text == "Please say: clear to go. Or: not yet."
    assert talk.case.state is State.PAUSING
    talk.hears("clear to go")
    assert talk.case.state is State.READY


def test_not_yet_asks_what_is_open_and_pauses_again(opened) -> None:
    """Nothing is given up by it."""
    talk = opened()
    to_the_pause(talk, but=("suction",))
    talk.hears("not yet")
    assert talk.case.known.current == "suction"
    talk.hears("both working")
    assert talk.case.state is State.PAUSING
    assert "Nothing open." in talk.said[-1]


@pytest.mark.parametrize("words", ["we must go now", "drugs in", "begin the attempt"])
def test_the_pause_can_be_overridden_and_that_is_on_record(opened, words) -> None:
    """Nobody has to talk first to a patient who cannot wait."""
    talk = opened()
    to_the_pause(talk, but=("suction",))
    talk.hears(words)
    assert talk.case.state is not State.PAUSING
    events = [row.data["event"] for row in talk.rows if "event" in row.data]
    after = events[events.index("pause-begun") + 1 :]
    assert {"went-now", "pause-passed", "attempt-started"} & set(after)
    passed = [row.data for row in talk.rows if row.data.get("event") == "pause-passed"]
    assert all(not one["by_word"] for one in passed)


@pytest.mark.parametrize("words", ["drugs in", "begin the attempt"])
def test_vital_items_that_are_open_never_pass_unsaid(opened, words) -> None:
    """Said once, when the drugs go in or an attempt begins while they are asked."""
    talk = opened("begin")
    said = [line.text for line in talk.hears(words)]
    assert "Open: oxygen on, allergies, failed attempts." in said
    again = "begin the attempt" if words == "drugs in" else "drugs in"
    assert not any("Open:" in line.text for line in talk.hears(again))


def test_go_now_takes_less_than_five_seconds(opened) -> None:
    """A count, and the three vital ones by name; the rest stays open and is on record."""
    talk = opened("begin")
    (line,) = talk.hears("we must go now")
    assert line.text == "Going now, sixteen open: oxygen on, allergies, failed attempts."
    assert duration_s(line.text, WORD_S) < 5
    row = next(row for row in talk.rows if row.data.get("event") == "went-now")
    assert len(row.data["open_items"]) == 16


def test_times_are_called_once_and_leave_the_question_open(opened) -> None:
    """Of the drugs and of the attempt; never twice, and anew for each attempt."""
    talk = opened("we must go now", "drugs in", "begin the attempt")
    for _ in range(2):
        assert [line.text for line in talk.waits(65) if line.tag == "time"][-2:] == [
            "Thirty seconds.",
            "Sixty seconds.",
        ] or "Sixty seconds since the drugs." in talk.said
        assert [line for line in talk.waits(65) if line.tag == "time"] == []
        talk.hears("the attempt failed")
        talk.hears("begin the attempt")
    said = talk.said
    assert said.count("Thirty seconds.") == said.count("Sixty seconds.") == 2
    assert said.count("Sixty seconds since the drugs.") == 1


def test_a_time_is_not_called_over_the_watcher(phrases) -> None:
    """It waits until the call is over."""
    talk = TextCase(SITE, phrases=phrases)
    talk.hears("begin the attempt")
    began_s = talk.case.known.clocks["attempt"].started_s
    talk.waits(began_s + 29.5 - talk.now_s)
    talk.called(93)
    talk.waits(8)
    (said,) = [row for row in talk.rows if row.kind == "said" and row.meaning == "time"]
    assert said.mono_s > began_s + 30.5
    talk.close()


def test_the_time_is_not_called_late_nor_while_held(opened) -> None:
    """After a restart that took long, and when somebody asked for silence."""
    talk = opened("drugs in", "stop")
    assert talk.waits(75) == []
    talk.hears("go on")
    assert "Sixty seconds since the drugs." not in talk.said


def test_the_time_is_called_in_a_hold(opened) -> None:
    """Whoever said to wait has not asked for silence."""
    talk = opened("drugs in", "hold on")
    talk.waits(62)
    assert "Sixty seconds since the drugs." in talk.said


def test_a_drug_that_is_in_is_recorded_with_its_dose(opened) -> None:
    """Where one was told for this patient; a relaxant starts the clock of the drugs."""
    asked = "dose of rocuronium", "yes correct"
    talk = opened("the weight is seven zero kilos", "yes correct", *asked)
    (line,) = talk.hears("rocuronium in")
    assert line.text == "Rocuronium eighty-four milligrams in."
    row = next(row for row in talk.rows if row.data.get("event") == "drug-given")
    assert (row.data["drug"], row.data["dose"], row.data["unit"]) == ("rocuronium", "84", "mg")
    assert talk.case.known.clocks["drugs in"].running
    assert [one.text for one in talk.hears("ketamine given")] == ["Ketamine in."]
    assert [one.tag for one in talk.hears("thiopental in")] == ["drug-absent"]
