"""Vital words: heard wherever a case is, lead where they should, and lose nothing."""

import pytest

from assistant.brief.case import Case
from assistant.brief.item import Standing
from assistant.brief.known import Known
from assistant.brief.phases import Phase
from assistant.brief.states import VITAL, State
from tests.brief.conftest import OFF_AND_ON, SITE

SAID = SITE.wording.may_be_said
WAYS = {
    State.OPENED: [],
    State.ASKING: ["begin"],
    State.CHECKING: ["begin", "yes"],
    State.QUOTING: ["begin", "dose of rocuronium for seven zero kilos"],
    State.STATING: ["begin", "the patient is hypotensive"],
    State.MIXING: ["begin", "how do i mix norepinephrine infusion"],
    State.HELD: ["begin", "hold on"],
    State.DOUBTING: ["begin", "~drugs in"],
    State.CLOSING: ["begin", "end the case"],
    State.IDENTIFYING: ["begin", OFF_AND_ON],
    State.PAUSING: ["we must go now", "begin", "not yet"],
    State.READY: ["we must go now"],
    State.ATTEMPTING: ["begin the attempt"],
}
"""What is said to bring a new case to each state; ~ is heard unsurely."""


def _counts(known: Known) -> tuple[list[str | None], list[str]]:
    return [one.outcome for one in known.attempts], [run.name for run in known.clock_runs]


LEADS = {
    "attempt_start": lambda case: case.state is State.ATTEMPTING,
    "attempt_failed": lambda case: _counts(case.known)[0] == ["failed"],
    "tube_in": lambda case: (
        _counts(case.known)[0] == ["tube in"] and case.known.current == "sustained-carbon-dioxide"
    ),
    "tube_past_cords": lambda case: _counts(case.known)[0] == ["tube in"],
    "tube_out": lambda case: _counts(case.known)[0] in ([], ["failed"]),
    "wave_lost": lambda case: _counts(case.known)[0] in ([], ["failed"]),
    "drugs_in": lambda case: _counts(case.known)[1].count("drugs in") == 1,
    "cannot_oxygenate": lambda case: case.state not in (State.HELD, State.ATTEMPTING),
    "cannot_ventilate": lambda case: (
        _counts(case.known) == ([], []) or case.known.phase is Phase.SUPRAGLOTTIC
    ),
    "rescue_start": lambda case: case.known.phase is Phase.SUPRAGLOTTIC,
    "rescue_in": lambda case: case.state not in (State.HELD, State.ATTEMPTING),
    "neck_open": lambda case: case.state not in (State.HELD, State.ATTEMPTING),
    "arrest": lambda case: (
        case.state in (State.HELD, State.ATTEMPTING) and "arrest" in case.known.clocks
    ),
}


def test_every_state_that_has_not_ended_is_walked_from() -> None:
    """And every vital word leads somewhere."""
    assert set(WAYS) == set(State) - {State.ENDED}
    assert set(LEADS) == set(VITAL)


@pytest.mark.parametrize("state", WAYS)
@pytest.mark.parametrize("meaning", VITAL)
def test_every_vital_word_leads_where_it_should_from_every_state(opened, state, meaning) -> None:
    """Said once and surely, in the site's first wording; and the case can be ended after it.

    That an attempt has failed is asked back where none has begun, and in one what is through the
    cords.
    """
    talk = opened(*WAYS[state])
    assert talk.case.state is state
    talk.hears(getattr(SAID, meaning)[0])
    assert talk.heard.meaning == meaning
    asked_back = {"attempt_failed": state is not State.ATTEMPTING}
    asked_back["tube_past_cords"] = state is State.ATTEMPTING
    if asked_back.get(meaning):
        assert talk.case.state is State.DOUBTING
        talk.hears("yes")
    assert LEADS[meaning](talk.case), (talk.case.state, talk.case.known)
    assert Case.rebuilt(SITE.brief, talk.rows).known == talk.case.known
    if talk.case.state is State.ATTEMPTING:
        talk.hears("the attempt failed")
    talk.hears("end the case")
    talk.hears("yes confirmed")
    assert talk.case.state is State.ENDED


@pytest.mark.parametrize("state", WAYS)
def test_every_usual_wording_is_heard_in_every_state(opened, phrases, state) -> None:
    """As what it means, and as nothing else."""
    grammar = phrases.phrasebook.now(opened(*WAYS[state]).case)
    for meaning in VITAL:
        for words in getattr(SAID, meaning):
            assert phrases.read(grammar, words).meaning == meaning, words


@pytest.mark.parametrize("state", WAYS)
@pytest.mark.parametrize("meaning", VITAL)
def test_what_is_not_surely_heard_is_asked_back_and_a_yes_counts(opened, state, meaning) -> None:
    """In few words, from every state."""
    talk = opened(*WAYS[state])
    if talk.case.known.doubt is not None and talk.case.known.doubt.word == meaning:
        talk.hears("no")  # else it is said again, which counts
    (asked,) = talk.hears(getattr(SAID, meaning)[0], sure=False)
    assert asked.text == getattr(SITE.wording.vital.asked_back, meaning)
    talk.hears("yes")
    assert LEADS[meaning](talk.case)


@pytest.mark.parametrize("answer", ["no", None])
@pytest.mark.parametrize("state", WAYS)
def test_a_word_in_doubt_that_nobody_confirms_changes_nothing(opened, state, answer) -> None:
    """A no, or silence, leads back to where the case was, and what was open is asked again."""
    talk = opened(*WAYS[state])
    before = (talk.case.known.current, talk.case.known.quote, talk.case.known.fact)
    talk.hears("tube in", sure=False)
    if answer is None:
        talk.waits(16)
    else:
        talk.hears(answer)
    if state is not State.DOUBTING:
        assert talk.case.state is state
    assert (talk.case.known.current, talk.case.known.quote, talk.case.known.fact) == before
    assert talk.case.known.attempts in ([], [talk.case.known.attempt])


@pytest.mark.parametrize(
    ("asked_back", "answer", "confirmed"),
    [
        ("tube in", "yes", True),
        ("tube in", "tube in", True),
        ("tube in", "no", False),
        ("tube in", None, False),
        ("tube in", "cardiac arrest", False),
        ("tube in", "no wave", False),
        ("no wave", "no wave", True),
        ("hang on a second", "hang on a second", True),
        ("hang on a second", "we must go now", False),
    ],
)
def test_the_record_tells_whether_it_was_so(opened, asked_back, answer, confirmed) -> None:
    """What was asked back was confirmed only by a yes, or said once more."""
    talk = opened("begin", "begin the attempt", "i'm in")
    talk.hears(asked_back, sure=False)
    if talk.case.state is not State.DOUBTING:  # a command is asked back the second time
        talk.hears(asked_back, sure=False)
    if answer is None:
        talk.waits(16)
    else:
        talk.hears(answer)
    (settled,) = [row.data for row in talk.rows if row.data.get("event") == "doubt-settled"]
    assert settled["confirmed"] is confirmed


@pytest.mark.parametrize(
    ("said", "open_again"),
    [
        ("the patient is hypotensive", "I heard blood pressure low. Correct?"),
        (
            "dose of rocuronium for seven zero kilos",
            "Rocuronium, not vecuronium, for seventy: seven zero, …",
        ),
    ],
)
def test_what_was_read_back_comes_back_after_the_attempt(opened, said, open_again) -> None:
    """It does not count meanwhile, and is not lost; what is asked between attempts comes first, so
    that no saturation is taken for the weight that is read back."""
    talk = opened("begin", said, "begin the attempt")
    talk.waits(20)
    assert talk.hears("the attempt failed")[-1].text == "Leader. Pace the bag?"
    for words in ("no", "bougie", "the consultant"):
        talk.hears(words)
    last = talk.hears("ninety seven")[-1].text
    assert last.startswith(open_again.removesuffix("…"))
    talk.hears("yes correct")
    assert talk.case.current.id == "oxygen-on"


def test_a_dose_question_comes_back_after_the_wave(opened) -> None:
    """What the tube needs goes first."""
    talk = opened("begin", "the patient is hypotensive", "i'm in")
    assert talk.case.known.current == "sustained-carbon-dioxide"
    talk.hears("we saw the wave go on")
    assert talk.case.state is State.STATING
    talk.hears("yes correct")
    assert talk.case.known.low_pressure is True
    assert talk.case.state is State.ASKING


def test_an_item_that_was_being_asked_comes_back(opened) -> None:
    """The weight that was read back when the attempt began does not count, and is asked anew."""
    talk = opened("begin")
    while talk.case.known.current != "weight":
        talk.hears("not yet")
    talk.hears("seven zero kilos")
    talk.hears("going in now")
    assert talk.case.known.weight_kg is None
    talk.hears("the attempt failed")
    while talk.case.known.current != "weight":
        talk.hears("not yet")
    assert talk.case.known.items["weight"].standing is Standing.OPEN


def test_hold_words_are_not_for_the_caller_during_an_attempt(opened) -> None:
    """ "Wait a moment" is said to the helper; the attempt goes on and its end is heard."""
    talk = opened("begin the attempt")
    for words in (*SAID.hold, *SAID.stop, "the patient is hypotensive", "end the case"):
        assert talk.hears(words) == []
        assert talk.heard.kind == "ignored"
    assert talk.hears("tell me the saturation")[-1].tag == "told"
    talk.hears("the attempt failed")
    assert talk.case.state is not State.ATTEMPTING


def test_cannot_see_is_asked_back_and_only_in_an_attempt(opened) -> None:
    """Whoever cannot see may still be trying."""
    talk = opened("begin the attempt")
    assert [line.text for line in talk.hears("can't see")] == ["Attempt failed?"]
    talk.hears("no")
    assert talk.case.state is State.ATTEMPTING
    talk.hears("can't see")
    talk.hears("yes")
    assert [one.outcome for one in talk.case.known.attempts] == ["failed"]
    talk.hears("can't see")
    assert talk.heard.kind == "ignored"


def test_what_is_said_twice_counts_once(opened) -> None:
    """Two people tell the same thing."""
    talk = opened("drugs in", "begin the attempt")
    talk.waits(12)
    (runs,) = talk.hears("going in now")
    assert runs.tag == "attempt-runs"
    assert "seconds" in runs.text
    (plan, *_) = talk.hears("the attempt failed")
    (again, *_) = talk.hears("i'm coming out")
    assert again.text in plan.text
    talk.hears("drugs given")
    talk.hears("place the supraglottic")
    talk.hears("supraglottic airway now")
    known = talk.case.known
    assert [one.outcome for one in known.attempts] == ["failed"]
    assert [row.data.get("event") for row in talk.rows].count("rescue-started") == 1
    assert [run.name for run in known.clock_runs].count("drugs in") == 1


def test_a_tube_that_is_told_twice_is_in_once(opened) -> None:
    """Its wave is not asked for anew, and the record tells which attempt it was."""
    talk = opened("begin", "begin the attempt", "the attempt failed", "begin the attempt", "i'm in")
    talk.hears("we saw a good wave")
    before = talk.case.known.current
    talk.hears("tube in")
    assert [one.outcome for one in talk.case.known.attempts] == ["failed", "tube in"]
    assert talk.case.known.current == before
    told = [row.text for row in talk.rows if row.data.get("event") in ("attempt-failed", "tube-in")]
    assert told == ["attempt 1 has failed", "tube in at attempt 2"]


def test_nothing_has_to_be_declared(opened) -> None:
    """A tube whose attempt nobody announced is in, and nobody knows how long it took."""
    talk = opened("begin", "i'm in")
    (one,) = talk.case.known.attempts
    assert (one.outcome, one.unknown) == ("tube in", True)


@pytest.mark.parametrize("words", ["tube out", "the attempt failed", "begin the attempt"])
def test_a_tube_that_came_out_has_failed_and_the_next_attempt_can_begin(opened, words) -> None:
    """At any later time, and however it is said."""
    talk = opened("begin the attempt", "i'm in")
    talk.hears("we saw a good wave")
    talk.hears(words)
    if talk.case.state is State.DOUBTING:
        talk.hears("yes")
    assert talk.case.known.attempts[0].outcome == "tube out"
    talk.hears("going in now")
    assert talk.case.state is State.ATTEMPTING
    assert len(talk.case.known.attempts) == 2


def test_an_arrest_is_quiet_and_comes_back(opened) -> None:
    """Nothing is asked until somebody says to go on; vital words are heard meanwhile."""
    talk = opened("begin", "dose of rocuronium for seven zero kilos", "start compressions")
    assert talk.waits(120) == []
    talk.hears("drugs in")
    assert talk.case.state is State.HELD
    again = talk.hears("go on")
    assert again[-1].text.startswith("Rocuronium, not vecuronium, for seventy")


FAILED_ONCE = ("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
FAILED_ONCE += ("going in now", "coming out")


@pytest.mark.parametrize(
    "open_words",
    ["hang on", "how much rocuronium", "the patient is a woman", "~cardiac arrest"],
)
def test_the_patient_is_to_wake_up_whatever_is_open(opened, open_words) -> None:
    talk = opened(*FAILED_ONCE, open_words)
    said = [line.text for line in talk.hears("wake him up")]
    assert talk.heard.kind == "heard"
    assert said[0] == SITE.brief.attempts.wake_up
    assert talk.case.known.phase is Phase.WAKE_UP
    assert talk.case.state is State.ASKING


@pytest.mark.parametrize("told", ["how much rocuronium", "the patient is a woman"])
def test_what_was_read_back_is_awaited_after_that(opened, told) -> None:
    talk = opened(*FAILED_ONCE)
    read_back = talk.hears(told)[-1].text
    talk.hears("wake him up")
    assert talk.hears("yes")[-1].text == read_back


def test_an_attempt_whose_failure_is_asked_back_is_over_when_the_patient_is_to_wake_up(
    opened,
) -> None:
    talk = opened("we must go now", "going in now", "~coming out", "wake him up")
    assert talk.case.known.attempt is None
    assert talk.case.known.attempts[-1].outcome == "failed"
    assert talk.case.known.phase is Phase.WAKE_UP


def test_nobody_wakes_up_in_the_silence_of_an_arrest(opened) -> None:
    talk = opened(*FAILED_ONCE, "cardiac arrest")
    assert talk.hears("wake him up") == []
    assert talk.case.state is State.HELD


def test_in_an_arrest_no_clock_is_waited_for_aloud(opened) -> None:
    talk = opened("we must go now", "begin", "we saw the mask held on", "cardiac arrest")
    said = talk.hears("go on")
    assert talk.case.known.clocks["oxygen on"].running
    assert "clock-left" not in [line.tag for line in said]


@pytest.mark.parametrize("asked_back", ["~tube in", "through the cords"])
def test_a_wave_that_is_seen_says_yes_to_the_tube_that_is_asked_back(opened, asked_back) -> None:
    """And to the wave, which is not asked for any more."""
    talk = opened("we must go now", "going in now", asked_back)
    assert talk.case.state is State.DOUBTING
    talk.hears("we saw a good wave", sure=False)
    assert talk.case.state is State.DOUBTING
    talk.hears("we saw a good wave")
    wave = next(one for one in SITE.brief.items_of(Phase.AFTER) if one.denied_plainly)
    assert talk.case.known.attempts[-1].outcome == "tube in"
    assert talk.case.known.items[wave.id].standing is Standing.RUNNING
    assert talk.case.known.current not in (None, wave.id)


def test_a_wave_told_in_passing_then_is_read_back_by_itself(opened) -> None:
    talk = opened("we must go now", "going in now", "~tube in")
    assert talk.hears("good wave")[-1].text == "Good wave, yes?"
    assert talk.case.known.phase is Phase.AFTER
    assert talk.case.state is State.CHECKING
