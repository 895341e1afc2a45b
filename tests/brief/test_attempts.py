"""Attempts that fail, tubes without a wave, rescue airways: what is said, asked and recorded."""

import pytest

from assistant.brief.answers import NOT_YET_FOR_S
from assistant.brief.attempt import breath_every_s
from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State
from tests.brief.conftest import SITE

PLAN = SITE.brief.attempts
NO_WAVE = "No wave: take it out and bag, unless proven otherwise."


def texts(lines) -> list[str]:
    return [line.text for line in lines]


@pytest.mark.parametrize(
    "no", ["no", "nothing there", "nothing", "none", "flat", "there's no wave"]
)
def test_no_wave_means_out_at_once(opened, no) -> None:
    """In the site's words; the attempt has failed, and the next one can begin at once."""
    talk = opened("begin the attempt", "i'm in")
    said = texts(talk.hears(no))
    assert NO_WAVE in said or no == "there's no wave"
    assert PLAN.after_failure[0].say in said
    assert [one.outcome for one in talk.case.known.attempts] == ["tube out"]
    talk.hears("going in now")
    assert talk.case.state is State.ATTEMPTING


def test_not_yet_waits_for_the_next_breath_once(opened) -> None:
    """The first breath may not have come: it is asked again at once, and then it is a no."""
    talk = opened("begin the attempt", "i'm in", "not yet")
    assert talk.case.known.phase is Phase.AFTER
    assert talk.case.known.current == "sustained-carbon-dioxide"
    talk.waits(NOT_YET_FOR_S)
    assert NO_WAVE in texts(talk.hears("not yet"))


@pytest.mark.parametrize("words", ["not yet", "not sure"])
def test_said_twice_within_seconds_it_is_said_once(opened, words) -> None:
    """The line warms up; the assistant itself has said that "not yet" is an answer."""
    talk = opened("begin the attempt", "i'm in")
    for _ in range(2):
        talk.hears(words)
    assert talk.case.known.phase is Phase.AFTER
    assert talk.case.known.current == "sustained-carbon-dioxide"
    assert NO_WAVE in texts(talk.hears("no"))


def test_a_wave_is_asked_again_when_seven_breaths_can_have_passed(opened) -> None:
    """Not twelve seconds after the tube; and gone by then, the tube is out as well."""
    talk = opened("begin the attempt", "i'm in", "we saw a wave")
    while talk.case.known.current is not None:
        talk.hears("not yet")
    assert talk.said[-1] == "All asked. Waiting for the clock: seven breaths."
    asked = texts(talk.waits(40))
    assert asked[0] == "Head. Is the carbon dioxide wave still sustained after seven breaths?"
    assert NO_WAVE in texts(talk.hears("no"))
    assert talk.case.known.phase is Phase.BETWEEN


def test_a_wave_is_asked_again_though_another_item_is_open(opened) -> None:
    """It waited for the depth of a tube that nobody had proven."""
    talk = opened("begin the attempt", "i'm in", "we saw a wave")
    assert talk.case.known.current == "tube-depth"
    asked = texts(talk.waits(45))
    assert "Is the carbon dioxide wave still sustained after seven breaths?" in asked
    assert talk.case.known.current == "sustained-carbon-dioxide"
    talk.hears("we saw a wave")
    assert talk.case.known.current == "tube-depth"


def test_a_tube_that_was_proven_and_comes_out_is_no_failed_attempt(opened) -> None:
    """ "First attempt has failed" was said of it ten minutes later; but one attempt is used up."""
    talk = opened("begin the attempt", "i'm in", "we saw a wave")
    talk.waits(45)
    talk.hears("we saw a wave")
    said = texts(talk.hears("tube out"))
    assert PLAN.after_failure[0].say_tube_lost in said
    assert PLAN.after_failure[0].say not in said
    assert len(talk.case.known.attempts) == 1


def test_a_doubtful_no_wave_is_asked_back(opened) -> None:
    """A tube is not taken for out because a "no" was half heard."""
    talk = opened("begin the attempt", "i'm in")
    assert texts(talk.hears("no", sure=False)) == ["No wave, correct?"]
    talk.hears("no")
    assert talk.case.known.current == "sustained-carbon-dioxide"
    assert [one.outcome for one in talk.case.known.attempts] == ["tube in"]


@pytest.mark.parametrize(("again", "sure"), [("yes", True), ("no wave", True), ("no wave", False)])
def test_no_wave_said_once_more_counts(opened, again: str, sure: bool) -> None:
    """Half heard twice is heard: nobody has to say it a third time over a tube without a wave."""
    talk = opened("begin the attempt", "i'm in")
    talk.hears("no wave", sure=False)
    assert talk.case.known.current == "sustained-carbon-dioxide"

    assert NO_WAVE in texts(talk.hears(again, sure=sure))

    assert talk.case.known.phase is Phase.BETWEEN
    assert [one.outcome for one in talk.case.known.attempts] == ["tube out"]


def test_no_wave_in_place_of_an_answer_to_another_doubt(opened) -> None:
    """What was asked back is not so then, and the wave is denied all the same."""
    talk = opened("begin the attempt", "i'm in")
    talk.hears("no pulse", sure=False)

    assert NO_WAVE in texts(talk.hears("no wave"))

    assert "arrest" not in talk.case.known.clocks
    assert talk.case.known.phase is Phase.BETWEEN


def test_a_tube_that_came_out_after_everything_was_asked(opened) -> None:
    """Also when nothing is being asked any more."""
    talk = opened("i'm in", "end the case", "no")
    talk.hears("we lost the tube")
    assert talk.case.known.phase is Phase.BETWEEN
    assert talk.case.known.current == "pace-between"


def test_each_later_attempt_asks_what_changes_and_who(opened) -> None:
    """Anew for each, and says what comes next."""
    talk = opened("begin the attempt", "the attempt failed")
    answers = {
        "what-changes": "the bougie",
        "who-goes-next": "me",
        "oxygen-back": "it's not coming back",
    }
    for _ in range(2):
        asked = []
        while talk.case.state is State.ASKING:
            asked.append(talk.case.known.current)
            talk.hears(answers.get(asked[-1], "no"))
        assert set(asked) == {"pace-between", "what-changes", "who-goes-next", "oxygen-back"}
        assert talk.said[-1] == PLAN.oxygen_not_back
        talk.hears("begin the attempt")
        if len(talk.case.known.attempts) == 2:
            talk.hears("the attempt failed")


def test_the_limit_is_said_and_a_further_attempt_is_no_ordinary_one(opened) -> None:
    """After the agreed ones a supraglottic airway is next; one more is recorded as beyond."""
    talk = opened(*["begin the attempt", "the attempt failed"] * PLAN.at_most)
    assert talk.case.known.phase is Phase.SUPRAGLOTTIC
    said = texts(talk.hears("begin the attempt"))
    assert said == ["Attempt four: beyond the agreed three. Only if nothing else is left."]
    assert [one.beyond for one in talk.case.known.attempts] == [False, False, False, True]


def test_a_supraglottic_airway_has_its_own_few_items(opened) -> None:
    """Who, then the wave through it, then what is next; each answer may lead on."""
    talk = opened("supraglottic airway now", "the technician", "supraglottic in")
    assert talk.case.known.current == "supraglottic-wave"
    talk.hears("we saw waves through it")
    assert talk.case.known.current == "next-step"
    talk.hears("let the patient wake")
    assert (talk.case.known.phase, talk.case.known.current) == (Phase.WAKE_UP, "relaxant-reversed")


def test_a_supraglottic_airway_without_a_wave_leads_to_the_neck(opened) -> None:
    """In the site's words."""
    talk = opened("supraglottic in")
    said = texts(talk.hears("flat"))
    assert said[0] == "No wave through it. If the mask gives none either: front of neck."
    assert talk.case.known.phase is Phase.FRONT_OF_NECK


@pytest.mark.parametrize(
    "before",
    [[], ["begin"], ["begin the attempt"], ["i'm in"], ["supraglottic in"], ["begin", "hold on"]],
)
def test_cannot_oxygenate_leads_to_the_neck_at_once(opened, before) -> None:
    """Wherever the case is; and said again it begins nothing anew."""
    talk = opened(*before)
    said = talk.hears("can't oxygenate")
    assert said[0].text == SITE.wording.vital.cannot_oxygenate
    assert said[-1].item == "neck-extended"
    talk.hears("extended")
    talk.hears("can't oxygenate")
    assert talk.case.known.current == "neck-relaxed"
    talk.hears("relaxed")
    assert talk.said[-1] == PLAN.say_when_in
    talk.hears("neck airway in")
    assert (talk.case.known.phase, talk.case.known.current) == (Phase.NECK_OPEN, "neck-wave")


def test_no_oxygen_is_on_record_when_the_neck_is_next_already(opened) -> None:
    """A rescue airway without a wave has led there; said once more it counts once, and again after
    another way was tried."""
    talk = opened("supraglottic in", "flat", "extended")

    def told() -> int:
        return [row.data.get("event") for row in talk.rows].count("cannot-oxygenate")

    said = talk.hears("can't oxygenate")
    assert said[0].text == SITE.wording.vital.cannot_oxygenate
    assert (told(), talk.case.known.current) == (1, "neck-relaxed")
    talk.hears("can't oxygenate")
    assert (told(), talk.case.known.current) == (1, "neck-relaxed")
    talk.hears("supraglottic in")
    talk.hears("flat")
    talk.hears("can't oxygenate")
    assert told() == 2


def test_who_goes_through_the_neck_is_named(opened) -> None:
    """By the answer that was given before."""
    talk = opened("begin")
    while talk.case.known.current != "front-of-neck":
        talk.hears("not yet")
    talk.hears("the consultant")
    assert "Front of neck: the consultant." in texts(talk.hears("can't oxygenate"))


@pytest.mark.parametrize(
    ("facts", "every_s"),
    [
        ([], 6),
        (["the patient is acidotic"], 3),
        (["the patient has asthma"], 8),
        (["the patient is acidotic", "the patient has asthma"], 8),
    ],
)
def test_the_bag_is_paced_at_this_patients_rate(opened, facts, every_s) -> None:
    """Faster against acid, slower where air gets out slowly, and that goes first."""
    talk = opened(*[words for fact in facts for words in (fact, "yes correct")])
    talk.hears("begin pacing")
    assert breath_every_s(SITE.wording.timing, talk.case.known) == every_s
    assert talk.said[-1].endswith({6: "tick.", 3: "three seconds.", 8: "eight seconds."}[every_s])


@pytest.mark.parametrize(
    ("told", "answer", "every_s"),
    [
        ([], "the usual rate", 6),
        ([], "faster against acid", 3),
        ([], "slower for trapped air", 8),
        (["the patient has asthma", "yes correct"], "faster against acid", 3),
        (["the patient is acidotic", "yes correct"], "every six seconds", 6),
    ],
)
def test_the_rate_that_is_chosen_is_the_rate_of_the_pacing(opened, told, answer, every_s) -> None:
    """The answer is a fact of the patient, and holds against what was told before it."""
    talk = opened(*told, "planned brief")
    while talk.case.known.current != "bagging-rate":
        talk.hears("not yet") if talk.case.known.current else talk.waits(181)
    talk.hears(answer)
    talk.restarts()
    assert breath_every_s(SITE.wording.timing, talk.case.known) == every_s


@pytest.mark.parametrize("where", [["we must go now", "drugs in"], ["the attempt failed", "yes"]])
def test_pacing_is_offered_once_and_a_yes_begins_it(opened, where) -> None:
    """When the drugs are in and when an attempt has failed; nobody has to answer."""
    talk = opened(*where)
    assert talk.case.current.kind == "pace"
    offered = talk.case.known.current
    talk.waits(8)
    assert talk.case.known.current != offered
    assert not talk.case.known.pacing
    talk = opened(*where, "please do")
    assert talk.case.known.pacing


def test_what_was_open_before_the_attempt_comes_back_after_it(opened) -> None:
    """Once what changes has been asked; and what is left names it."""
    talk = opened("begin", "begin the attempt", "the attempt failed")
    while talk.case.known.phase is Phase.BETWEEN:
        talk.hears("not yet")
    assert talk.case.known.current == "oxygen-on"


def test_go_on_leads_back_to_what_was_left_when_the_patient_could_not_wait(opened) -> None:
    """The words that begin the brief, once the phase in hand has nothing to ask."""
    talk = opened("we must go now", "begin the attempt", "the attempt failed")
    while talk.case.state is State.ASKING:
        words = {"what-changes": "the bougie", "who-goes-next": "me", "oxygen-back": "back up"}
        talk.hears(words.get(talk.case.known.current, "no"))
    talk.hears("begin")
    assert (talk.case.known.phase, talk.case.known.current) == (Phase.BEFORE, "oxygen-on")


@pytest.mark.parametrize("words", ["going in now", "it won't go in", "this isn't working"])
def test_with_a_tube_in_an_attempts_words_are_asked_back(opened, words: str) -> None:
    """They are about a gastric tube, or a pump; a yes counts all the same."""
    talk = opened("begin the attempt", "tube in")
    talk.hears(words)
    assert talk.case.state is State.DOUBTING
    assert talk.case.known.phase is Phase.AFTER

    talk.hears("no")
    assert talk.case.known.current == "sustained-carbon-dioxide"
    assert len(talk.case.known.attempts) == 1

    talk.hears(words)
    talk.hears("yes")
    assert talk.case.known.phase is not Phase.AFTER


def test_nobody_is_asked_after_the_first_oxygen_once_an_attempt_was_made(opened) -> None:
    """Three minutes that ran out meanwhile are no question any more; the item stays open."""
    talk = opened("begin", "mask sealed", "yes", "begin the attempt")
    talk.waits(200)
    talk.hears("the attempt failed")
    while talk.case.state is State.ASKING and talk.case.known.current is not None:
        assert talk.case.known.current != "oxygen-on"
        talk.hears("not yet")

    assert talk.case.known.items["oxygen-on"].standing is Standing.DUE
