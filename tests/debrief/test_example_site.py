"""Cases of the example site, in text: what its own items, rescues and silences become."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.debrief.aloud import sentences
from assistant.debrief.comparing import case_figures
from assistant.debrief.drugs import drugs_of
from assistant.debrief.figures import figures
from assistant.debrief.measures import measure
from assistant.debrief.page_items import askings_by_person, left_open, not_come_to
from assistant.debrief.page_view import at_a_glance, given, happened
from assistant.debrief.timeline import read_timeline
from assistant.journal.folder import new_case
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

GOING = ("we must go now", "the drugs went in", "no", "begin the attempt")
GULLET = ("tube in", "no")
TO_THE_NECK = ("supraglottic in", "flat", "extended and felt", "neck airway in")


@pytest.fixture(scope="module")
def phrases() -> TypedPhrases:
    """Built once: it takes longer than a case."""
    return TypedPhrases(Phrasebook(SITE))


@pytest.fixture
def play(phrases: TypedPhrases, tmp_path: Path) -> Callable[..., Path]:
    """Plays a case: words that are heard, `~words` unsurely, numbers of seconds that pass, `!85`
    for a call, and `reboot`; returns its folder."""

    def played(*script: str | float) -> Path:
        folder = new_case(tmp_path, SITE.files)
        table = TextCase(SITE, folder, phrases=phrases)
        for one in script:
            if isinstance(one, int | float):
                table.waits(one)
            elif one.startswith("!"):
                table.called(int(one[1:]))
            elif one == "reboot":
                table.restarts(rebooted=True)
            else:
                table.hears(one.lstrip("~"), sure=not one.startswith("~"))
                assert table.heard is not None
                assert table.heard.kind == "heard", one
        table.close()
        return folder

    return played


def became(folder: Path, label: str) -> list[tuple[str, str]]:
    """Of an item's askings on the page: the mark, and what became of it."""
    timeline = read_timeline(folder)
    askings = [
        one
        for group in askings_by_person(timeline, measure(timeline))
        for one in group["askings"]
        if one["label"].partition(",")[0] == label
    ]
    return [(one["mark"], one["became"]) for one in askings]


def head(folder: Path) -> dict[str, str]:
    """What stands at the head of the page."""
    measures = measure(read_timeline(folder))
    return {
        one["name"]: ", ".join(filter(None, (one["value"], one["remark"])))
        for one in at_a_glance(measures)
    }


def came_to(folder: Path) -> list[str]:
    """What it tells of the case before all numbers."""
    timeline = read_timeline(folder)
    return [one["what"] for one in happened(timeline, measure(timeline))]


def never(folder: Path) -> list[dict]:
    """What nobody came to."""
    timeline = read_timeline(folder)
    return list(not_come_to(timeline, measure(timeline)))


def aloud(folder: Path) -> list[str]:
    """The sentences to read aloud."""
    timeline = read_timeline(folder)
    return list(sentences(timeline, measure(timeline)))


def test_an_offer_that_nobody_answers_is_no_not_yet(play: Callable) -> None:
    """Silence drops it: it is neither answered nor put off, and no words became its answer."""
    folder = play("we must go now", "the drugs went in", 30)
    items, loop = measure(read_timeline(folder)).items, measure(read_timeline(folder)).loops[-1]
    assert items.unanswered == ("pace-asleep",)
    assert "pace-asleep" not in (*items.answered, *items.deferred)
    assert (loop.outcome, loop.to_answer_s, loop.to_settling_s) == ("not answered", None, None)
    assert became(folder, "pacing the bag") == [("open", "not answered")]
    assert "Offered, and not answered: pacing the bag." in aloud(folder)
    (row,) = [one for one in read_timeline(folder).entries if one.meaning == "not-answered"]
    assert row.text == "pacing the bag: nobody answered"


def test_an_offer_that_is_refused_was_answered(play: Callable) -> None:
    """A no is an answer, with its time."""
    folder = play("we must go now", "the drugs went in", "no", 30)
    found = measure(read_timeline(folder))
    assert (found.items.deferred, found.items.unanswered) == (("pace-asleep",), ())
    assert found.loops[-1].outcome == "put off"
    assert found.loops[-1].to_answer_s is not None


def test_what_is_special_is_answered_by_what_was_told_before_the_silence(play: Callable) -> None:
    """Silence settles it after the first one: that was the answer, and nothing of it was amiss."""
    begun = ("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
    folder = play(*begun, "pregnant", 30)
    found = next(one for one in measure(read_timeline(folder)).loops if one.item == "special")
    assert (found.outcome, found.mismatched) == ("closed", ())
    assert found.reply_at_s < found.settled_at_s - 2.0


def test_a_weight_that_is_told_besides_stands_with_its_item(play: Callable) -> None:
    """Before the item came up, and it is not told to be missing."""
    folder = play("begin", "the weight is seven zero kilos", "yes correct", "we must go now")
    assert became(folder, "weight") == [("", "seventy kilograms")]
    assert "weight" in measure(read_timeline(folder)).items.answered
    (before,) = never(folder)
    assert "weight" not in before["items"]
    assert "bag and valve" in before["items"]


def test_what_was_left_out_by_going_now_is_named(play: Callable) -> None:
    """Nothing was asked: all that the site's first brief asks of this patient is named."""
    timeline = read_timeline(play("we must go now"))
    (row,) = [one for one in timeline.rows if one.data.get("event") == "went-now"]
    (before,) = not_come_to(timeline, measure(timeline))
    labels = [timeline.brief.item(one).label for one in row.data["open_items"]]
    assert (before["when"], before["items"]) == ("before the attempt", labels)


def test_what_a_tube_in_the_gullet_is_not_asked_is_not_missing(play: Callable) -> None:
    """Its cuff and its depth are nobody's concern; of one that held they are."""
    gullet, held = play(*GOING, *GULLET), play(*GOING, "tube in", "we saw a good wave")
    after = "after the tube"
    assert after not in [one["when"] for one in never(gullet)]
    assert after in [one["when"] for one in never(held)]


def test_what_the_neck_overtakes_is_not_left_open(play: Callable) -> None:
    """Between attempts what changes was asked, and then no oxygen got in: no answer is owed. What
    belongs to the neck is left open instead, in the table and aloud alike."""
    folder = play(*GOING, "the attempt failed", 30, "can't oxygenate", 3)
    items = measure(read_timeline(folder)).items
    assert [(one.item, one.by) for one in items.overtaken if one.item == "what-changes"] == [
        ("what-changes", "the front of the neck")
    ]
    assert "what-changes" not in items.outstanding
    assert "neck-extended" in items.outstanding
    told = [one for one in aloud(folder) if one.startswith(("Left open", "Never reached"))]
    assert not any("what changes" in one for one in told)
    assert "Never reached before the attempt" in told[1]


def test_why_an_item_was_read_back_is_told(play: Callable) -> None:
    """It was not understood for sure; it was confirmed as any other all the same."""
    timeline = read_timeline(play("begin", "~oxygen on", "yes", 3))
    found = askings_by_person(timeline, measure(timeline))[0]["askings"][0]
    assert found["became"] == "confirmed; its clock ran at the end"
    assert found["remark"] == "read back, “oxygen on”: not understood for sure at once"


def test_what_was_put_off_and_confirmed_later_is_told_as_that(play: Callable) -> None:
    """A wave that came six seconds after its "not yet"."""
    folder = play(*GOING, "tube in", "not yet", 6, "we saw a good wave")
    assert "Put off, and confirmed later: sustained carbon dioxide." in aloud(folder)


def test_going_now_is_told_first_and_is_no_short_brief(play: Callable) -> None:
    """It is a turn of the case; the brief was broken off, and no case is compared by it."""
    folder = play("begin", "we saw the mask held on", "we must go now", "the drugs went in", 3)
    assert head(folder)["The brief before the attempt"].endswith("broken off, to go now")
    assert aloud(folder)[1].startswith("The patient could not wait: that was said ")
    assert any(
        one.startswith("The brief before the attempt was broken off") for one in aloud(folder)
    )
    assert case_figures(folder).values["brief_s"] is None


def test_how_long_oxygen_was_on_before_the_drugs_and_the_attempt(play: Callable) -> None:
    """By the words that it is on, that the drugs are in and that the attempt begins; and the time
    in which nobody was told to bag stands at the head."""
    going = ("we must go now", "the drugs went in", 30, "begin the attempt", 20, "tube in")
    folder = play("begin", "we saw the mask held on", *going, "we saw a good wave")
    values = {one.name: one.value for one in figures(measure(read_timeline(folder)))}
    assert 30.0 < values["oxygen_to_attempt_s"] - values["oxygen_to_drugs_s"] < 35.0
    assert "From oxygen on to the drugs" in head(folder)
    assert "Of that, with nobody told to bag" in head(folder)


def test_an_attempt_tells_who_took_it_and_what_changed(play: Callable) -> None:
    """By the items before the first attempt and between two."""
    begun = ("begin", "we saw the mask held on", "bag and valve on", "seven zero kilos", "yes")
    named = ("nothing special", "we went through the allergies", "the registrar")
    going = ("we must go now", "the drugs went in", "begin the attempt", "the attempt failed")
    between = ("yes", "with a bougie this time", "the consultant", "begin the attempt", "tube in")
    folder = play(*begun, *named, *going, *between)
    assert [one.told for one in measure(read_timeline(folder)).attempts] == [
        ("first attempt: the registrar",),
        ("what changes: a bougie", "next attempt: the consultant"),
    ]


def test_a_case_that_nobody_began_misses_nothing(play: Callable) -> None:
    """It was opened, and that is all."""
    assert never(play(5)) == []


def test_an_item_that_is_open_at_the_end_says_so(play: Callable) -> None:
    """The wave was seen once, and the breaths after it were waited for when the record ended: it
    was confirmed, and nobody has left it open."""
    folder = play(*GOING, "tube in", "we saw a good wave")
    waits = "Confirmed, with its clock still running at the end: sustained carbon dioxide."
    assert waits in aloud(folder)
    open_still = [("closed", "confirmed; its clock ran at the end")]
    assert became(folder, "sustained carbon dioxide") == open_still


def test_a_wave_that_is_denied_was_an_answer(play: Callable) -> None:
    """ "No" took the tube out: nothing of it was amiss."""
    folder = play(*GOING, *GULLET)
    assert became(folder, "sustained carbon dioxide") == [("put-off", "denied")]
    assert sum(len(one.mismatched) for one in measure(read_timeline(folder)).loops) == 0


def test_a_tube_in_the_gullet_is_no_response_to_a_call(play: Callable) -> None:
    """What got oxygen in again was that it came out; nor did it end the time from the drugs."""
    folder = play(*GOING, 10, "!85", *GULLET, 5)
    found = measure(read_timeline(folder))
    assert [one.how for one in found.responses] == ["the tube was taken out"]
    assert found.drugs_to_tube_at_s is None


def test_a_tube_that_came_out_later_was_a_response(play: Callable) -> None:
    """Its wave was seen; that it fell out afterwards is another matter."""
    folder = play(*GOING, 10, "!85", "tube in", "we saw a good wave", 2, "tube out")
    found = measure(read_timeline(folder))
    assert [one.how for one in found.responses] == ["the tube was in"]
    assert found.ended_by == "the tube"
    assert any(one.startswith("Attempt 1 began") and "out again" in one for one in aloud(folder))


def test_calls_that_had_no_response_are_told_at_the_head(play: Callable) -> None:
    """One of two; and where none had any, that is told too."""
    asked = "From saturation call to response, longest"
    one = play(*GOING, 10, "!85", "tube in", "we saw a good wave", 20, "!80", 5)
    assert head(one)[asked].endswith(" s, 1 of 2 calls answered")
    none = play(*GOING, 10, "!85", 5)
    assert head(none)[asked] == "0 of 1 calls answered"


def test_the_time_from_the_drugs_ends_with_a_rescue_airway(play: Callable) -> None:
    """A supraglottic airway that gave no wave was no end: the tube through the neck is."""
    folder = play(*GOING, *GULLET, *TO_THE_NECK, "we saw waves through the neck", 5)
    found, told = measure(read_timeline(folder)), head(folder)
    assert found.ended_by == "the tube through the neck"
    assert told["From drugs to tube"].endswith(", to the tube through the neck")
    assert found.no_breath_s < found.drugs_to_tube_at_s[1] - found.drugs_to_tube_at_s[0]


def test_the_turns_of_a_case_stand_at_its_head_and_are_read_aloud(play: Callable) -> None:
    """Every rescue and what came out; and the drawing's course goes on after the last attempt."""
    folder = play(*GOING, "the attempt failed", 2, "can't oxygenate", "neck airway in", 20)
    told = came_to(folder)
    assert told[0] == "The patient could not wait"
    assert told[-2:] == ["No oxygen got in from above", "The tube through the neck was in"]
    assert any(one.startswith("No oxygen got in from above ") for one in aloud(folder))
    found = measure(read_timeline(folder))
    assert [one.name for one in found.stretches] == ["between", "to neck", "neck open"]
    assert found.stretches[-1].span[1] == pytest.approx(found.duration_s)


def test_no_oxygen_at_the_neck_is_told_and_answers_no_call(play: Callable) -> None:
    """It was turned to before: by a rescue airway without a wave."""
    folder = play(*GOING, *GULLET, *TO_THE_NECK[:-1], 5, "!80", "can't oxygenate", 5)
    assert came_to(folder)[-1] == "No oxygen got in from above"
    assert head(folder)["From saturation call to response, longest"] == "0 of 1 calls answered"


def test_what_happened_stands_with_the_words_for_it(play: Callable) -> None:
    """What was asked back, and the yes to it; a no to the wave is no word that
    the tube is out."""
    folder = play(*GOING, "~the attempt failed", "yes", "begin the attempt", *GULLET)
    timeline = read_timeline(folder)
    measures = measure(timeline)
    found = {one["what"].partition(",")[0]: one["said"] for one in happened(timeline, measures)}
    assert found["Attempt 1 failed"] == "“the attempt failed”, “yes”"
    assert found["The tube gave no wave"] == "“no”"
    assert "The tube was out again" not in found
    assert measures.attempts[1].outcome == "no wave"
    assert any("with the tube in, which gave no wave" in one for one in aloud(folder))


def test_a_weight_put_right_after_a_dose_stands_among_what_happened(play: Callable) -> None:
    """With the drug that was in by then, and the one that went in by the old dose."""
    ketamine = ("what is the dose of ketamine", "what is the dose of rocuronium", "yes correct")
    right = ("the weight is six zero kilos", "yes correct")
    told = came_to(
        play(
            *("begin", "the weight is nine zero kilos", "yes correct"),
            *(*ketamine, "ketamine in", *right, "rocuronium in"),
        )
    )
    assert told == [
        "Ketamine was in; 135 mg was told",
        "The weight was put right to 60 kg, after ketamine was in",
        "Rocuronium was in; its dose, 108 mg, was outdated",
    ]


def test_redacted_nobody_is_no_person(play: Callable, capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody was named for the next attempt, and nobody answered an offer: no person did."""
    weighed = ("begin", "we saw the mask held on", "bag and valve on", "eight zero kilos", "yes")
    named = ("difficult airway", "nothing else", "no allergies", "yes", "the registrar", "nobody")
    again = ("begin the attempt", "the attempt failed", "yes", "a bougie", "the registrar")
    folder = play(*weighed, *named, "we must go now", "the drugs went in", 30, *again)
    assert main(["debrief", str(folder), "--redact"]) == 0
    told = capsys.readouterr().out
    assert "next attempt: nobody yet" in told
    assert "pacing the bag: nobody answered" in told
    assert "was named for: first attempt, next attempt." in told
    assert told.count("was named for") == 1


def test_a_typed_case_says_that_nobody_spoke(play: Callable, tmp_path: Path) -> None:
    """Its waits are made up; in a case that was spoken nothing is said of that."""
    assert read_timeline(play("begin")).notes[0].startswith("This case was typed and read")


def test_an_arrest_is_told_with_its_length(play: Callable) -> None:
    """Twenty seconds and the words for them, until the pulse is back; and once without an end."""
    folder = play(*GOING, "cardiac arrest", 20, "we've got a pulse")
    (arrest,) = [one for one in measure(read_timeline(folder)).turns if "heart" in one.what]
    assert 20 < arrest.lasted_s < 30
    assert came_to(folder)[-1].startswith("The pulse was back, after 2")
    assert any("beat again after" in one for one in aloud(folder))
    without = play(*GOING, "cardiac arrest", 20)
    assert came_to(without)[-1] == "The heart stopped"


def test_a_reboot_after_the_tube_leaves_what_was_before_it(play: Callable) -> None:
    """From drugs to tube both times lie before it; in between nobody would know."""
    tubed = (*GOING, 20, "tube in", "we saw a good wave")
    known = measure(read_timeline(play(*tubed))).drugs_to_tube_at_s
    assert known is not None
    assert measure(read_timeline(play(*tubed, "reboot"))).drugs_to_tube_at_s == known
    between = play(*GOING, 20, "reboot", 10, "tube in", "we saw a good wave")
    assert measure(read_timeline(between)).drugs_to_tube_at_s is None


def test_without_the_sites_files_nobody_knows_what_was_done_about_a_call(play: Callable) -> None:
    """Unknown is not told as nothing."""
    folder = play(*GOING, 10, "!85", "tube in")
    shutil.rmtree(folder / "site")
    assert measure(read_timeline(folder)).responses == ()
    assert not any("After a call" in one for one in aloud(folder))


@pytest.mark.parametrize("given_first", [True, False])
def test_a_drug_that_went_in_against_an_allergy_is_named(play: Callable, given_first: bool) -> None:
    """Among the drugs and aloud, whichever was told first; no other drug is."""
    allergy = ("allergic to succinylcholine", "yes correct")
    words = ("rocuronium in", *allergy) if given_first else (*allergy, "rocuronium in")
    folder = play("we must go now", "ketamine in", *words)
    timeline = read_timeline(folder)
    went_in = [one["text"] for one in given(drugs_of(timeline))]
    assert went_in == [
        "ketamine; no dose was asked for.",
        "rocuronium; no dose was asked for; against an allergy to succinylcholine.",
    ]
    told = "Rocuronium went in, and an allergy to succinylcholine was told."
    assert [one for one in aloud(folder) if "allergy" in one] == [told]


def test_an_allergy_that_was_taken_back_is_against_no_drug(play: Callable) -> None:
    """It was not meant."""
    folder = play("begin", "allergic to rocuronium", "yes correct", "no wait", "rocuronium in")
    (went_in,) = given(drugs_of(*_with_taken_back(folder)))
    assert "allergy" not in went_in["text"]


def test_what_was_left_open_is_listed_on_the_page(play: Callable) -> None:
    """The same items as aloud; the asking that was overtaken says that its item is open still."""
    folder = play("begin", "we saw the mask held on", "we must go now", 3)
    timeline = read_timeline(folder)
    measures = measure(timeline)
    (one,) = left_open(timeline, measures)
    assert one["items"] == ["oxygen on", "bag and valve"]
    assert "Left open: oxygen on, bag and valve." in aloud(folder)
    assert became(folder, "bag and valve") == [("", "overtaken by going now; open at the end")]


def test_what_a_further_attempt_opened_and_nobody_asked_again_was_answered(
    play: Callable,
) -> None:
    """Who goes next was told after the first attempt; after the second one no oxygen got in."""
    between = ("yes", "with a bougie this time", "the consultant", "begin the attempt")
    folder = play(*GOING, "the attempt failed", *between, "the attempt failed", "can't oxygenate")
    items = measure(read_timeline(folder)).items
    assert "who-goes-next" in items.answered
    assert "who-goes-next" not in [one.item for one in items.overtaken]


def test_a_question_that_is_asked_anew_is_not_overtaken_by_itself(play: Callable) -> None:
    """The wave was asked for when it was asked for once more."""
    folder = play(*GOING, "tube in", "we saw a good wave", 40, "go back", 2)
    told = [one for _, one in became(folder, "sustained carbon dioxide")]
    assert not any("overtaken by “sustained carbon dioxide”" in one for one in told)


def _with_taken_back(folder: Path):
    timeline = read_timeline(folder)
    return timeline, measure(timeline).taken_back


def test_an_allergy_that_was_denied_later_is_against_no_drug(play: Callable) -> None:
    """It was told, and put right after a read-back."""
    words = ("allergic to rocuronium", "yes correct", "no rocuronium allergy", "yes correct")
    folder = play("begin", *words, "rocuronium in")
    (went_in,) = given(drugs_of(*_with_taken_back(folder)))
    assert "allergy" not in went_in["text"]
