"""A case in text: the real conversation, with typed words in place of an ear."""

from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from assistant.brief.case import Case
from assistant.brief.item import Standing
from assistant.brief.states import VITAL, State
from assistant.debrief.timeline import read_timeline
from assistant.grammar.readings import Reading, Verdict
from assistant.hearing.endpointing import Endpointing
from assistant.journal.journal import read_case
from assistant.journal.rows import TYPED
from assistant.language.verbs import holds_auxiliary
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import ENDS_AFTER_S, NOT_NOW, TypedEar, TypedPhrases
from assistant.site.site import Site, load_site
from tests.rehearsal.conftest import ROOT

_NOTHING = b""


@pytest.fixture(scope="module")
def phrases(site: Site) -> TypedPhrases:
    return TypedPhrases(Phrasebook(site))


@pytest.fixture
def table(site: Site, phrases: TypedPhrases, tmp_path: Path) -> TextCase:
    """A new case that has said its opening."""
    return TextCase(site, tmp_path, phrases=phrases)


def to_the_weight(table: TextCase) -> None:
    table.hears("begin the brief")
    while table.case.known.current != "weight":
        table.hears("yes confirmed")


def test_it_says_on_record_first_of_all_what_it_is(table: TextCase) -> None:
    """Whoever reads the record later sees that nobody was heard."""
    rows = read_case(table.folder)[1]

    assert rows[0].text == TYPED
    assert "not exercised" in TYPED


def test_what_is_typed_is_answered_as_if_it_had_been_heard(table: TextCase) -> None:
    """A weight by its digits is read back, confirmed, noted, and the next item is asked."""
    to_the_weight(table)
    (read_back,) = table.hears("Seven zero kilos.")
    noted, asked = table.hears("yes correct")

    assert (read_back.tag, table.said[-3]) == (
        "read-back",
        "I heard seventy: seven zero, kilograms. Correct?",
    )
    assert (noted.tag, asked.tag) == ("noted", "ask")
    assert table.case.known.weight_kg == 70


@pytest.mark.parametrize("words", ["yes i know", "what about the weather", "seven zero kilos"])
def test_what_may_not_be_said_now_is_ignored_and_not_kept(table: TextCase, words: str) -> None:
    """Room talk, free text and an answer out of place: on record that it was, and not what."""
    table.hears("begin the brief")
    item = table.case.known.current

    assert table.hears(words) == []
    assert (table.heard.kind, table.heard.data["why"]) == ("ignored", NOT_NOW)
    assert table.case.known.current == item
    assert words not in {row.text for row in table.rows}


def test_what_is_said_unsurely_confirms_nothing(table: TextCase) -> None:
    """The same words with the verdict ASK are read back."""
    table.hears("begin the brief")
    item = table.case.known.current
    (line,) = table.hears("yes confirmed", sure=False)

    assert (table.heard.kind, table.heard.data["verdict"]) == ("heard", Verdict.ASK.value)
    assert (line.tag, line.text) == ("yes", "Oxygen on, yes?")
    assert table.case.known.items[item].standing is Standing.OPEN


def test_time_passes_and_nobody_answers(table: TextCase, site: Site) -> None:
    """Asked as often as the site says, and then it waits."""
    table.hears("begin the brief")
    lines = table.waits(60.0)

    tags = [line.tag for line in lines]
    assert tags == ["ask"] * (site.wording.timing.ask_at_most - 1) + ["waiting"]


def test_it_gives_way_to_the_watchers_call(table: TextCase) -> None:
    """The question is asked again after it; the call is in the watcher's own record."""
    question = table.hears("begin the brief")[-1]
    began_s = table.now_s
    (again,) = table.called(93)

    assert (again.tag, again.item) == (question.tag, question.item)
    assert table.now_s > began_s + 1.0
    calls = [one for one in read_timeline(table.folder).entries if one.who == "watcher"]
    assert [one.text for one in calls] == ["Saturation ninety-three."]
    assert "ninety-three percent" in table.hears("what is the saturation")[0].text


def test_what_is_said_over_it_is_lost(table: TextCase) -> None:
    """The gate is the real one: nobody is heard while the assistant speaks. At 7 s it does not ask
    again while somebody speaks, as it once did; what is about safety waits for nobody."""
    table.hears("begin the brief")
    item = table.case.known.current
    table.waits(6.0)
    table.hears("yes confirmed")
    after = table.case.known.current
    table.waits(1.0)
    table.conversation.note("told", "The line hums.")
    table._ear.say("yes confirmed", table.now_s - 0.5, sure=True)
    table.waits(1.0)

    assert item != after
    assert table.heard.data["why"] == ""
    (lost,) = [row for row in table.rows if row.kind == "ignored"]
    assert lost.data["why"] == "spoken over"
    assert table.case.known.current == after


@pytest.mark.parametrize("rebooted", [False, True])
def test_it_goes_on_after_a_restart(table: TextCase, rebooted: bool) -> None:
    """From its record, with the weight in doubt until it is confirmed again."""
    to_the_weight(table)
    table.hears("seven zero kilos")
    table.hears("yes correct")
    lines = table.restarts(rebooted=rebooted, away_s=60.0)

    assert lines[0].tag == "restarted"
    assert lines[-1].text == "I heard seventy: seven zero, kilograms. Correct?"
    table.hears("yes correct")
    assert table.case.known.weight_kg == 70
    assert table.case.state is State.ASKING


def test_the_same_words_make_the_same_case(site: Site, phrases: TypedPhrases) -> None:
    """Two cases driven by one seed have the same rows at the same times; each fits its record."""

    def walked() -> list[tuple[object, ...]]:
        table, random = TextCase(site, phrases=phrases, word_s=0.0), Random(4)
        for _ in range(80):
            table.hears(table.any_words(random) or "nothing", sure=random.random() < 0.8)
        rebuilt = Case.rebuilt(site.brief, read_case(table.folder)[1])
        assert (rebuilt.state, rebuilt.known) == (table.case.state, table.case.known)
        table.close()
        return [(row.mono_s, row.kind, row.text, row.meaning, row.item) for row in table.rows]

    first = walked()
    assert len(first) > 80
    assert walked() == first


def test_whatever_may_be_said_is_understood(site: Site, phrases: TypedPhrases) -> None:
    """Each phrase that `?` shows, its slots filled at random, is heard as its own meaning; a vital
    one with an "is" in it is asked back."""
    random = Random(7)
    for state in ("begin the brief", "hold on", ""):
        table = TextCase(site, phrases=phrases, word_s=0.0)
        if state:
            table.hears(state)
        shown = table.may_be_said()
        for _ in range(60):
            words = table.any_words(random)
            reading = phrases.read(phrases.phrasebook.now(table.case), words)
            asked_back = reading.meaning in VITAL and holds_auxiliary(words)
            assert reading.verdict is (Verdict.ASK if asked_back else Verdict.ACCEPT), words
            assert reading.meaning in shown
        table.close()


def test_a_record_in_memory_is_gone_at_the_end(site: Site, phrases: TypedPhrases) -> None:
    """Tests leave nothing behind."""
    table = TextCase(site, phrases=phrases, word_s=0.0)
    assert read_case(table.folder)[1]
    table.close()

    assert not table.folder.exists()


def test_a_site_of_another_language_can_be_typed() -> None:
    """The words of the site's own wording."""
    korean = load_site(ROOT / "configs" / "angae-gogae")
    table = TextCase(korean)
    (begin, *_) = table.may_be_said()["start"]
    lines = table.hears(begin)
    table.close()

    assert lines[-1].tag == "ask"


def test_an_utterance_ends_as_with_the_ear() -> None:
    """After the same silence as the end-pointer waits for."""
    assert Endpointing().ends_after_s == ENDS_AFTER_S


def heard_at(ear: TypedEar, times_s: list[float], muted: Callable[[float], bool]) -> list[str]:
    """What comes out when each block is heard, as the text or why it was ignored."""
    heard = [ear.hear(_NOTHING, at_s, muted=muted(at_s)) for at_s in times_s]
    return [_told(one.reading) for one in heard if one is not None]


def _told(reading: Reading) -> str:
    if reading.verdict is Verdict.ACCEPT or not reading.text:
        return reading.text or reading.why
    return f"{reading.text}: {reading.verdict.value}, {reading.why}"


@pytest.mark.parametrize(
    ("shut_from_s", "out"),
    [
        (9.0, ["yes confirmed"]),
        (1.9, ["yes confirmed: ask, spoken over"]),
        (1.5, ["spoken over"]),
        (1.1, []),
        (0.0, []),
    ],
)
def test_a_shut_microphone_takes_nothing(
    site: Site, phrases: TypedPhrases, shut_from_s: float, out: list[str]
) -> None:
    """What was begun before it shut is on record as spoken over, if it was more than a sound;
    said to its last word, it is read and counts for no more than ASK."""
    ear, case = TypedEar(phrases), Case(site.brief)
    ear.expect(phrases.phrasebook.when_asking("confirm"))
    ear.say("yes confirmed", 1.0, sure=True)
    times_s = [number / 10 for number in range(10, 40)]

    assert case.state is State.OPENED
    assert heard_at(ear, times_s, lambda at_s: at_s >= shut_from_s) == out
    assert not ear.busy
