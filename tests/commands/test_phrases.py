"""`spoken-brief phrases`, and `check --hear`: what may be said, and how it is heard."""

from html.parser import HTMLParser
from pathlib import Path

import pytest

from assistant.commands import check, phrase_hearing
from assistant.grammar.grammar import Pattern
from assistant.grammar.readings import Reading, Verdict
from assistant.phrasebook import sheet
from assistant.site.site import load_site
from assistant.speaking.may_be_said import MayBeSaid
from tests.commands.conftest import TARN_HOLLOW, Command

pytestmark = pytest.mark.usefixtures("good_site_once")
HEARD_AT = ("first-laryngoscope", "between cases")
VOID = {"meta", "br", "hr", "link", "img"}


class Opened(HTMLParser):
    """Whether every element is closed in its turn, and the text of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: object) -> None:
        """Remember it."""
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """It must be the last that was opened."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Keep what is read."""
        self.text += data


def test_every_item_is_listed_with_what_settles_it(command: Command) -> None:
    """And what puts it off, what is asked at any time, and what does not apply."""
    called = command("phrases")

    assert (called.code, called.err) == (0, "")
    for item in load_site(TARN_HOLLOW).brief.items():
        assert f"\n{item.id}: " in f"\n{called.out}"
        for words in (*item.told_plainly, *item.telling_answers, *item.own_exceptions):
            assert words in called.out
    assert "at any time" in called.out
    assert "what can i say" in called.out
    assert "thank you" not in called.out


def test_one_item_by_itself(command: Command) -> None:
    """Its own answers and nothing else."""
    called = command("phrases", "--item", "collar")

    assert called.out.startswith("collar: Collar off, neck held?")
    assert "no collar" in called.out
    assert "suction" not in called.out
    assert "at any time" not in called.out


def test_the_words_of_every_item_are_listed_once(command: Command) -> None:
    """A team reads what is special of an item, not the same forty words for each."""
    called = command("phrases")

    rows = called.out.split("\n")
    assert called.out.count("happy with that") == 1
    assert called.out.count("come back to that") == 1
    assert '  not yet: a usual not yet except "no", "nope"' in rows  # which are answers there
    (suction,) = (one for one in rows if "two suctions working" in one)
    told = "  settles it, if said soon after the call: a yes in passing, both working"
    assert suction.startswith(told)


def test_what_is_read_back_is_not_said_to_settle(command: Command) -> None:
    """A vital item takes a yes in passing only once that was read back."""
    listed = command("phrases", "--item", "oxygen-on").out.split("\n")

    (row,) = (one for one in listed if "oxygen's on" in one)
    assert row.startswith("  is read back, if said soon after the call: ")
    assert "yes, yeah, yep" in row
    assert any(one.startswith("  settles it: ") and "mask held on" in one for one in listed)


def test_an_item_that_is_not_in_the_brief(command: Command) -> None:
    """One sentence names those that are."""
    called = command("phrases", "--item", "sucktion")

    assert called.code == 2
    assert "'sucktion'" in called.sentence
    assert "suction" in called.sentence


def test_a_sheet_to_print(command: Command, tmp_path: Path) -> None:
    """Well-formed, with every item's call and all its answers, the caution, and what "…" is."""
    page = tmp_path / "sheet.html"
    assert command("phrases", "--html", page).code == 0

    parser = Opened()
    parser.feed(page.read_text(encoding="utf-8"))
    assert set(parser.open) <= {"html", "body"}
    for one in sheet.answers(load_site(TARN_HOLLOW)):
        assert (one.item.call or one.item.ask) in parser.text
        for meaning, phrases in one.phrases.items():
            shown = phrases[:4] if meaning == "number" else phrases
            assert all(words in parser.text for words in shown)
    assert "Not a medical device" in parser.text
    assert "For … say a number or a name." in parser.text


def test_everything_that_may_be_said_has_a_plain_name(command: Command) -> None:
    """A team knows no "number instead": no name of the program's own is a heading."""
    names = {*sheet.CALLED, *sheet.USUAL, *sheet.ANY_TIME, *sheet.NOT_BY_ITSELF}
    assert set(MayBeSaid.model_fields) <= names
    rows = command("phrases").out.splitlines()
    headings = {one.strip().partition(": ")[0] for one in rows}
    own = {one.replace("_", " ") for one in MayBeSaid.model_fields if "_" in one}
    assert not headings & own
    assert "takes back the last answer or word" in headings


def test_what_settles_nothing_anywhere_is_said_once(command: Command) -> None:
    """And stays with an item that takes less than others do."""
    rows = command("phrases").out.splitlines()
    assert [one for one in rows if "that's right, that's correct" in one] == [
        "  settles nothing by itself: that's right, that's correct"
    ]
    assert "  settles nothing here: a full yes, a yes in passing" in rows


def test_a_few_ways_to_tell_a_number_are_enough(command: Command) -> None:
    """Fifty were listed, and hid that a pressure may be told with its lower number; an item by
    itself has them all."""
    rows = command("phrases").out.splitlines()
    assert "  a number: …, … kilograms, … kilos, about …, and the like" in rows
    assert "  a number: …, … millimetres, … systolic, about …, … over …, and the like" in rows
    assert "roughly … kilos" in command("phrases", "--item", "weight").out


def test_a_sheet_that_cannot_be_written(command: Command, tmp_path: Path) -> None:
    """One sentence with the file."""
    called = command("phrases", "--html", tmp_path / "nowhere" / "sheet.html")

    assert called.code == 2
    assert "sheet.html" in called.sentence


def outcome(meaning: str, verdict: Verdict, heard_as: str) -> str:
    """Of somebody who says "both working" and is heard as that."""
    reading = Reading(heard_as, meaning, {}, 1.0, verdict)
    return phrase_hearing._outcome(Pattern("both working", "plain_yes"), [reading])[0]


@pytest.mark.parametrize(
    ("meaning", "verdict", "told"),
    [
        ("plain_yes", Verdict.ACCEPT, "taken"),
        ("confirm", Verdict.ACCEPT, "taken"),
        ("decline", Verdict.ACCEPT, "confused"),
        ("plain_yes", Verdict.ASK, "asked back"),
        ("decline", Verdict.ASK, "asked back"),
        ("plain_yes", Verdict.IGNORE, "not heard"),
    ],
)
def test_what_becomes_of_an_answer(meaning: str, verdict: Verdict, told: str) -> None:
    """Taken for another is the worst, and is not the same as asked back."""
    assert outcome(meaning, verdict, "something") == told


def test_a_sites_phrases_are_heard(command: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    """Answers and commands, of an item and a state, with real voices and the real recogniser: what
    is not taken, and the counts."""
    whole = phrase_hearing.hear_phrases

    def of_two_places(places, engine, voices):
        yield from whole([one for one in places if one.name in HEARD_AT], engine, voices)

    monkeypatch.setattr(check, "hear_phrases", of_two_places)
    called = command("check", "--hear")

    quiet, noisy = called.out.splitlines()[-2:]
    assert quiet.startswith("In quiet, of 40 phrases:")
    assert noisy.startswith("At 10 dB, of 40 phrases:")
    assert called.code == (0 if "0 confused" in quiet and "0 confused" in noisy else 1)


def test_the_answers_to_one_item_are_heard(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who has changed the words of one item need not wait for all the others."""
    asked: list[str] = []

    def noted(places, engine, voices):
        asked.extend(one.name for one in places)
        yield phrase_hearing.PhraseHeard("collar", "no collar", "joe", False, "taken", "")

    monkeypatch.setattr(check, "hear_phrases", noted)
    called = command("check", "--hear", "--item", "collar")

    assert (called.code, asked) == (0, ["collar"])
    assert "In quiet, of 1 phrases: 1 taken" in called.out


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (("--hear", "--item", "sucktion"), "'sucktion'; allowed: an item of the brief: oxygen-on"),
        (("--item", "suction"), "'suction' without --hear"),
    ],
)
def test_an_item_that_cannot_be_heard(command: Command, given: tuple[str, ...], told: str) -> None:
    """One sentence, before anything is heard."""
    called = command("check", *given)

    assert called.code == 2
    assert told in called.sentence


def test_every_phrase_of_a_site_has_its_place() -> None:
    """Each that is said as it is written is heard somewhere, a command as well as an answer."""
    site = load_site(TARN_HOLLOW)
    found = {
        (one.words, one.meaning)
        for place in phrase_hearing.places(site)
        for one in place.grammar.patterns
        if one.for_me and one.meaning in place.meanings
    }
    said = site.wording.may_be_said
    around = ("yes_first", "yes_last", "no_first", "no_last", "hesitations")
    no_phrases = ("bare_yes", "room_talk", "takes_back", *around)
    written = {
        (words, name)
        for name in type(said).model_fields
        for words in getattr(said, name)
        if name not in no_phrases and "{" not in words
    }
    assert written <= found
    for item in site.brief.items():
        assert {(words, "plain_yes") for words in item.told_plainly} <= found


def test_an_answer_taken_for_another_ends_it_with_1(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line says for which."""
    confused = phrase_hearing.PhraseHeard("suction", "both on", "joe", True, "confused", "not yet")
    monkeypatch.setattr(check, "hear_phrases", lambda *_: iter([confused]))
    called = command("check", "--hear")

    assert called.code == 1
    assert "suction: 'both on' by joe, 10 dB above noise: confused with 'not yet'" in called.out
