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


def times(talk: TextCase) -> list[str]:
    """What was called of the time so far."""
    return [line.text for line in talk.lines if line.tag == "time"]


def called(talk: TextCase) -> list[tuple[int, bool]]:
    """The same as the record has it: after how many seconds, and whether it was said."""
    rows = [row.data for row in talk.rows if row.data.get("event") == "time-called"]
    return [(row["after_s"], row["said"]) for row in rows]


def test_a_time_that_is_due_in_silence_is_told_as_it_is_afterwards(opened) -> None:
    """Whoever asked for silence has it, and then the true time; after too long, nothing."""
    talk = opened("drugs in", "stop")
    assert [line.tag for line in talk.waits(75)] == ["reminded"]
    assert called(talk) == []
    talk.hears("go on")
    assert times(talk) == ["Drugs in: one minute, seventeen seconds."]
    assert called(talk) == [(60, True)]

    late = opened("drugs in", "stop")
    assert [line.tag for line in late.waits(95)] == ["reminded"]
    late.hears("go on")
    assert times(late) == []
    assert called(late) == [(60, False)]


def test_a_time_is_called_between_two_questions(phrases) -> None:
    """Not while one awaits its answer, but before it is asked again, or the next one is."""
    talk = TextCase(SITE, phrases=phrases)
    for words in ("begin the brief", "the drugs went in", "what size of tube"):
        talk.hears(words)
    began_s = talk.case.known.clocks["drugs in"].started_s
    while talk.now_s < began_s + 75:
        talk.waits(3.0)
        talk.hears("not yet")
    (time,) = [row for row in talk.rows if row.kind == "said" and row.meaning == "time"]
    said = [row for row in talk.rows if row.kind == "said"]
    follows = said[said.index(time) + 1]
    assert began_s + 60 <= time.mono_s < began_s + 68
    assert follows.meaning == "ask"
    assert called(talk) == [(60, True)]
    talk.close()


def test_a_time_is_called_though_nobody_answers(phrases) -> None:
    """Before the question is asked once more, or when that is given up."""
    talk = TextCase(SITE, phrases=phrases)
    for words in ("begin the brief", "the drugs went in"):
        talk.hears(words)
    talk.hears("the height is one seven zero centimetres")
    began_s = talk.case.known.clocks["drugs in"].started_s
    talk.waits(began_s + 80 - talk.now_s)
    (time,) = [row for row in talk.rows if row.kind == "said" and row.meaning == "time"]
    assert time.mono_s < began_s + 72
    talk.close()


def test_no_time_is_called_before_a_vital_word_is_asked_back_again(phrases) -> None:
    """Not even between two times that it is asked; afterwards."""
    talk = TextCase(SITE, phrases=phrases)
    talk.hears("begin the attempt")
    began_s = talk.case.known.clocks["attempt"].started_s
    talk.waits(began_s + 26 - talk.now_s)
    talk.hears("cardiac arrest", sure=False)
    talk.waits(30.0)
    tags = [line.tag for line in talk.lines if line.tag in ("doubt", "time")]
    assert tags == ["doubt", "doubt", "time"]
    talk.close()


def _without_sound(talk: TextCase, until_s: float) -> None:
    """The devices are gone until then, and come back."""
    talk.conversation.sound_is(hears=False, speaks=False)
    while talk.now_s < until_s:
        talk._step()
    talk.conversation.sound_is(hears=True, speaks=True)
    talk.waits(5.0)


def test_a_time_that_is_over_when_the_sound_is_back_is_not_called(phrases) -> None:
    """The loudspeaker was gone from 20 s to 100 s: nobody is told of thirty seconds then."""
    talk = TextCase(SITE, phrases=phrases)
    talk.hears("begin the attempt")
    began_s = talk.case.known.clocks["attempt"].started_s
    talk.waits(began_s + 20 - talk.now_s)
    _without_sound(talk, began_s + 100)
    assert times(talk) == []
    assert called(talk) == [(30, False), (60, False)]
    talk.close()


def test_of_two_times_that_are_due_the_later_one_is_told(phrases) -> None:
    """And it as it is."""
    talk = TextCase(SITE, phrases=phrases)
    talk.hears("begin the attempt")
    began_s = talk.case.known.clocks["attempt"].started_s
    _without_sound(talk, began_s + 69.5)
    assert times(talk) == ["Attempt: one minute, ten seconds."]
    assert called(talk) == [(30, False), (60, True)]
    talk.close()


def test_a_time_that_the_loudspeaker_broke_off_is_not_said_much_later(phrases) -> None:
    """It was begun as the device went; forty seconds later it is not true any more."""
    talk = TextCase(SITE, phrases=phrases)
    talk.hears("begin the attempt")
    began_s = talk.case.known.clocks["attempt"].started_s
    while talk.now_s < began_s + 30.2:
        talk._step()
    talk.conversation.sound_is(hears=False, speaks=False)
    while talk.now_s < began_s + 55:
        talk._step()
    talk.conversation.sound_is(hears=True, speaks=True)
    talk.waits(3.0)
    assert [row.kind for row in talk.rows if row.text == "Thirty seconds."] == ["said"]
    (lost,) = [row for row in talk.rows if row.text == "not spoken"]
    assert lost.data == {"text": "Thirty seconds.", "why": "it was too late"}
    talk.close()


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


def test_the_wave_is_asked_for_before_the_time_is_called(phrases) -> None:
    """A time that is due as the tube goes in waits for that answer; nobody asks for it then."""
    talk = TextCase(SITE, phrases=phrases)
    talk.hears("begin the attempt")
    talk.hears("drugs in")
    since_s = talk.case.known.clocks["drugs in"].started_s
    talk.waits(since_s + 58.5 - talk.now_s)
    before = len(talk.lines)
    talk.hears("tube in")  # it is due while "Tube in" is said
    talk.hears("we saw the wave go on")

    tags = [line.tag for line in talk.lines[before:]]
    assert tags[:2] == ["tube-in", "ask"]
    assert "time" in tags[2:]
    talk.close()


def test_a_stop_is_asked_after_once_and_the_oxygen_is_told_all_the_same(opened) -> None:
    """It may have been said to somebody else; in an arrest nobody is asked."""
    talk = opened("begin the brief", "we saw the mask held on", "stop")
    said = talk.waits(300)
    assert [line.tag for line in said] == ["reminded", "elapsed"]
    assert said[1].text == "Oxygen on: three minutes."

    arrested = opened("begin the brief", "we saw the mask held on", "cardiac arrest")
    assert arrested.waits(300) == []
