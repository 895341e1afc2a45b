"""The conversation, sound in and sound out: what is on disk when, and who may be heard when."""

import resource
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import pytest

from assistant.audio.sound import BLOCK_S, RATE_HZ, Samples
from assistant.brief.states import State
from assistant.conversation.watchkeeper import (
    COMES_AND_GOES_S,
    SILENT_S,
    STEADY_S,
    Watchkeeper,
)
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Engine, Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.hearing.engines import make_engine
from assistant.journal.journal import FILE_NAME, read_case
from assistant.journal.rows import Row
from assistant.oximeter.messages import Calling, Watching
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site
from assistant.speaking.voices import open_voice

Begin = Callable[..., Any]
Phrase = Callable[[str], Samples]
QUIET = 50
"""Below this no sample is speech."""


def test_what_was_heard_is_on_disk_before_anything_is_said(begin: Begin, phrase: Phrase) -> None:
    """At each row that is told, another connection finds it and all before it in the record."""
    live = begin()
    found: list[tuple[Row, list[str]]] = []

    def look(row: Row) -> None:
        with sqlite3.connect(live.folder / FILE_NAME) as other:
            kinds = [kind for (kind,) in other.execute("SELECT kind FROM rows ORDER BY seq")]
        found.append((row, kinds))

    live.on_row = look
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_said("ask")

    told = [row.kind for row, _ in found]
    assert told == ["said", "heard", "event", "said"]
    for number, (_, on_disk) in enumerate(found, 1):
        assert on_disk == told[:number]


def test_a_line_is_on_disk_before_its_first_sample(begin: Begin, phrase: Phrase) -> None:
    """Nothing has been played of a line when its row is told, and its sound follows."""
    live = begin()
    starts: list[int] = []
    live.on_row = lambda row: starts.append(len(live.sound)) if row.kind == "said" else None
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_said("ask")

    assert len(starts) == 2
    for first in starts:
        before = np.concatenate([np.zeros(1, np.int16), *live.sound[:first][-20:]])
        after = np.concatenate(live.sound[first : first + 20])
        assert np.abs(before).max() < QUIET
        assert np.abs(after).max() > 1000


@contextmanager
def full_disk(live: Any) -> Iterator[None]:
    """No file may grow any more, as on a disk that is full."""
    usual = resource.getrlimit(resource.RLIMIT_FSIZE)
    size = (live.folder / FILE_NAME).stat().st_size  # the log beside it is longer by now
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, usual[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, usual)


def test_a_full_disk_is_told_once_and_never_mutes_it(begin: Begin, phrase: Phrase) -> None:
    """It says so once, goes on hearing and asking, and writes all of it when there is room."""
    live = begin()
    live.until_said("opened")
    with full_disk(live):
        live.answer(phrase("begin the brief"))
        live.until_said("ask")
        live.answer(phrase("not yet"))
        live.until_said("ask")
    during = read_case(live.folder)[1]  # nothing brings what waits to the disk but a further row
    live.answer(phrase("yes confirmed"))
    live.until_said("ask")
    live.conversation.close()

    said = live.texts("said")
    assert [row.text for row in during] == said[:1]
    assert said.count("The record cannot be written. I go on without it.") == 1
    assert live.texts("heard") == ["begin the brief", "not yet", "yes confirmed"]
    assert list(read_case(live.folder)[1]) == live.rows


def test_its_own_voice_is_never_an_answer(begin: Begin, phrase: Phrase, site: Site) -> None:
    """At full level in its own microphone, a question that holds its answer confirms nothing."""
    live = begin(echo_db=0.0)
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    question = live.until_said("ask")
    live.wait(3.0)

    assert live.texts("heard") == ["begin the brief"]
    assert not [row for row in live.rows if row.kind == "ignored"]
    assert live.conversation.case.known.current == "mask"
    # The same sound without the half duplex is taken for a voice, and for the answer in it.
    ear = Ear(make_engine("closed"))
    ear.expect(Phrasebook(site).when_asking("confirm"))
    assert hear_file(ear, open_voice(site.wording.voice).render(question.text))
    assert hear_file(ear, open_voice(site.wording.voice).render("Yes confirmed."))


def test_what_is_said_over_its_question_is_not_taken(begin: Begin, phrase: Phrase) -> None:
    """A yes before the question has been heard to its end is a yes to something else."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_speaking()
    live.people_say(phrase("yes confirmed"))
    live.until_said("ask")
    live.wait(1.5)

    assert live.texts("heard") == ["begin the brief"]
    assert live.conversation.case.known.current == "mask"


def test_it_gives_way_to_the_call_and_says_its_line_again(begin: Begin, phrase: Phrase) -> None:
    """Silent at once, until the call has ended; then the same line from its beginning."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_speaking()
    live.wait(0.5)
    began, until_s = len(live.sound), live.at_s + 2.5
    live.conversation.give_way(until_s)
    live.people_say(phrase("yes confirmed"))
    live.wait(2.4)
    during = np.concatenate(live.sound[began:])
    question = live.until_said("ask")
    live.answer(phrase("yes confirmed"))
    live.until_said("ask")

    assert not during.any()
    assert live.texts("said").count(question.text) == 2
    assert [line.text for line in live.ended].count(question.text) == 1
    assert live.texts("heard") == ["begin the brief", "yes confirmed"]
    assert live.conversation.case.known.current == "suction"


def test_an_answer_over_the_call_is_asked_for_again(begin: Begin, phrase: Phrase) -> None:
    """While it waits for an answer a call comes: what is said over it does not count."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    question = live.until_said("ask")
    live.wait(0.5)
    live.conversation.give_way(live.at_s + 2.5)
    live.people_say(phrase("yes confirmed"))
    live.wait(2.4)

    assert live.conversation.case.known.current == "mask"
    assert live.until_said("ask").text.endswith(question.text.removeprefix("Bag. "))
    assert live.texts("heard") == ["begin the brief"]
    live.answer(phrase("yes confirmed"))
    live.until_said("ask")
    assert live.conversation.case.known.current == "suction"


def test_a_watcher_without_a_loudspeaker_is_called_for(
    begin: Begin, phrase: Phrase, site: Site
) -> None:
    """The conversation makes the call at once, and then its own line from the beginning."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_speaking()
    keeper = Watchkeeper(live.conversation, live.clock)
    now_s = live.at_s
    keeper.take(Calling("fell", "Saturation ninety-three.", 93, 93, now_s, now_s))
    live.until_said("call")
    lasts_s = len(open_voice(site.wording.voice).render("Saturation ninety-three.")) / RATE_HZ
    assert live.at_s - now_s < lasts_s + 3 * BLOCK_S
    live.until_said("ask")

    said = live.texts("said")
    assert said[-2] == "Saturation ninety-three."
    assert said[-3] == said[-1]


class Watch:
    """A conversation, and the beats of its watcher."""

    def __init__(self, live: Any, site: Site) -> None:
        self._live = live
        self._keeper = Watchkeeper(live.conversation, live.clock)
        self._says = site.wording.says

    def goes_on(self, seconds: float, *, beats: bool) -> tuple[int, int]:
        """How often it has been said by then that nobody watches, and that somebody does again."""
        for number in range(round(seconds / BLOCK_S)):
            if beats and number % 30 == 0:
                self._keeper.take(Watching(97, self._live.at_s))
            self._keeper.pass_time()
            self._live.step()
        said = self._live.texts("said")
        return said.count(self._says.watcher_lost), said.count(self._says.watcher_back)


def test_a_watcher_that_falls_silent_is_told_once(begin: Begin, site: Site) -> None:
    """Nobody watches: said once; that it is back as well; and both again when it is lost again."""
    live = begin()
    live.until_said("opened")
    watch = Watch(live, site)

    assert watch.goes_on(SILENT_S + 3, beats=True) == (0, 0)
    assert watch.goes_on(SILENT_S + 1, beats=False) == (1, 0)
    assert watch.goes_on(2 * SILENT_S, beats=False) == (1, 0)
    assert watch.goes_on(STEADY_S - 2, beats=True) == (1, 0)
    assert watch.goes_on(4, beats=True) == (1, 1)
    assert watch.goes_on(SILENT_S + 1, beats=False) == (2, 1)


def test_a_watcher_that_comes_and_goes_is_told_seldom(begin: Begin, site: Site) -> None:
    """Whoever was told that nobody watches is told otherwise only when it is back to stay."""
    live = begin()
    live.until_said("opened")
    watch = Watch(live, site)
    watch.goes_on(SILENT_S + 1, beats=False)

    for _ in range(round(COMES_AND_GOES_S / 12) - 2):
        assert watch.goes_on(5.0, beats=True) == (1, 0)
        assert watch.goes_on(SILENT_S + 2, beats=False) == (1, 0)
    for _ in range(3):
        watch.goes_on(5.0, beats=True)
        lost, back = watch.goes_on(SILENT_S + 2, beats=False)
    assert (lost, back) == (2, 0)

    assert watch.goes_on(STEADY_S + 2, beats=True) == (2, 1)
    assert watch.goes_on(SILENT_S + 2, beats=False) == (3, 1)
    assert watch.goes_on(STEADY_S + 2, beats=True) == (3, 1)


def test_what_is_not_so_any_more_is_not_said_of_the_watcher(begin: Begin, site: Site) -> None:
    """The loudspeaker was out while it was gone and came back."""
    live = begin()
    live.until_said("opened")
    watch = Watch(live, site)
    live.conversation.sound_is(hears=False, speaks=False)
    watch.goes_on(SILENT_S + 1, beats=False)
    watch.goes_on(STEADY_S + 1, beats=True)
    live.conversation.sound_is(hears=True, speaks=True)

    assert watch.goes_on(5, beats=True) == (0, 0)


def test_nobody_answers_and_it_waits(begin: Begin, phrase: Phrase, site: Site) -> None:
    """Asked as often as the site says, then it goes quiet; a late answer still counts."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_said("waiting", at_most_s=120)
    asked = [line for line in live.ended if line.tag == "ask"]
    began = len(live.sound)
    live.wait(20)

    assert len(asked) == site.wording.timing.ask_at_most
    assert not np.concatenate(live.sound[began + 10 :]).any()
    live.answer(phrase("yes confirmed"))
    live.until_said("ask")
    assert live.conversation.case.known.current == "suction"


def test_a_case_goes_from_sound_to_its_end(begin: Begin, phrase: Phrase) -> None:
    """A small case, answered aloud, to the end; and its record says the same."""
    live = begin()
    for tag, said in (
        ("opened", "begin the brief"),
        ("ask", "yes confirmed"),
        ("ask", "yes confirmed"),
        ("phase-done", "end the case"),
        ("closing", "yes confirmed"),
    ):
        live.until_said(tag)
        live.answer(phrase(said))
    live.until_said("ended")

    assert live.conversation.case.state is State.ENDED
    assert live.conversation.ended
    live.conversation.close()
    rows = read_case(live.folder)[1]
    assert {row.data["verdict"] for row in rows if row.kind == "heard"} == {Verdict.ACCEPT.value}
    assert list(rows) == live.rows


class BrokenVoice:
    """A real voice that fails for whatever is in `fails`, as a synthesiser out of memory does."""

    def __init__(self, site: Site) -> None:
        self._voice = open_voice(site.wording.voice)
        self.fails: set[str] = set()

    def render(self, text: str) -> Samples:
        if any(words in text for words in self.fails):
            raise MemoryError("no memory for it")
        return self._voice.render(text)


def test_a_voice_that_fails_ends_no_case(begin: Begin, phrase: Phrase, site: Site) -> None:
    """On record as not spoken and why, told by what was rendered before, and then tried again."""
    voice = BrokenVoice(site)
    live = begin(voice=voice)
    live.until_said("opened")
    voice.fails = {"The mask"}
    live.answer(phrase("begin the brief"))
    live.until_said("not-spoken")

    row = next(row for row in live.rows if row.text == "not spoken")
    assert "The mask" in row.data["text"]
    assert row.data["why"] == "no memory for it"
    assert row.item == "mask"
    assert live.conversation.unspoken == 1
    assert not any("The mask" in text for text in live.texts("said"))
    voice.fails = set()
    assert "The mask" in live.until_said("ask").text


def test_nothing_answers_a_question_that_was_never_spoken(
    begin: Begin, phrase: Phrase, site: Site
) -> None:
    """A yes in the room is no answer to it; what asks for the question again is heard."""
    voice = BrokenVoice(site)
    live = begin(voice=voice)
    live.until_said("opened")
    voice.fails = {"The mask"}
    live.answer(phrase("begin the brief"))
    live.until_said("not-spoken")
    live.answer(phrase("yes confirmed"))

    ignored = [row for row in live.rows if row.kind == "ignored"]
    assert [row.data["why"] for row in ignored] == ["the question was never spoken"]
    assert live.conversation.case.known.current == "mask"
    voice.fails = set()
    live.answer(phrase("say that again"))
    live.until_said("ask")
    live.answer(phrase("yes confirmed"))
    assert live.conversation.case.known.current == "suction"


def test_a_weight_whose_read_back_was_never_spoken_does_not_count(
    begin: Begin, phrase: Phrase, site: Site
) -> None:
    """No dose for it, whatever is said in the room."""
    voice = BrokenVoice(site)
    live = begin(voice=voice)
    live.until_said("opened")
    voice.fails = {"eight two"}
    live.answer(phrase("the weight is eighty two kilos"))
    live.until_said("not-spoken")
    live.answer(phrase("yes confirmed"))

    assert live.conversation.case.known.weight_kg is None


def test_a_voice_that_is_gone_altogether_is_still_on_record(begin: Begin, site: Site) -> None:
    """Not even the phrase that says so: the case goes on, and the buzzer is told each time."""
    voice = BrokenVoice(site)
    voice.fails = {""}
    live = begin(voice=voice)
    live.wait(2.0)
    assert [row.text for row in live.rows] == ["not spoken"] * 2
    assert live.conversation.unspoken == 2
    assert live.texts("said") == []


def test_without_a_loudspeaker_nothing_is_said_until_it_is_back(
    begin: Begin, phrase: Phrase, site: Site
) -> None:
    """Cut short, silent and deaf meanwhile; then the same line from its beginning."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_speaking()
    live.conversation.sound_is(hears=False, speaks=False)
    began, rows = len(live.sound), len(live.rows)
    live.people_say(phrase("yes confirmed"))
    live.wait(30.0)
    assert not np.concatenate(live.sound[began:]).any()
    assert live.rows[rows:] == []

    live.conversation.sound_is(hears=True, speaks=True)
    line = live.until_said("ask")
    assert "The mask" in line.text
    assert live.texts("said")[-2:] == [line.text] * 2
    live.answer(phrase("yes confirmed"))
    assert live.conversation.case.known.current == "suction"


def test_without_a_microphone_nobody_is_asked_again_until_it_is_back(
    begin: Begin, phrase: Phrase
) -> None:
    """It says what it has to say, waits for no answer, and asks once more afterwards."""
    live = begin()
    live.until_said("opened")
    live.answer(phrase("begin the brief"))
    live.until_said("ask")
    live.conversation.sound_is(hears=False, speaks=True)
    live.conversation.note("sound lost: unplugged", "I cannot hear.")
    live.until_said("note")
    said = live.texts("said")
    live.wait(30.0)
    assert live.texts("said") == said

    live.conversation.sound_is(hears=True, speaks=True)
    live.conversation.note("sound is back", "I can hear again.")
    live.until_said("ask")
    assert live.texts("said")[-2] == "I can hear again."


def test_a_recogniser_that_took_nothing_in_is_told_and_recorded(
    begin: Begin, phrase: Phrase, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once; and when it has, which it tries with each utterance, that too."""
    live = begin()
    live.until_said("opened")

    def lacks(_grammar: Grammar) -> None:
        raise MemoryError("no room for it")

    with monkeypatch.context() as one:
        one.setattr(engine, "listen_for", lacks)
        live.answer(phrase("begin the brief"))
        live.until_said("note")
        live.answer(phrase("yes confirmed"))
        assert live.conversation.case.known.current == "mask"
    live.answer(phrase("yes confirmed"))
    live.wait(8.0)

    texts = live.texts("event")
    assert texts.count("nothing is understood: no room for it") == 1
    assert texts.count("what is said is understood again") == 1
    said = live.texts("said")
    assert said.count("I cannot understand anything just now. Say it again in a moment.") == 1
    assert "I can hear again." in said
