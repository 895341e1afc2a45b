"""Calls that nobody could hear: once they can be said, only what is still so is."""

from collections.abc import Iterator

import pytest

from assistant.conversation.unheard_calls import NEWS_S, UnheardCalls
from assistant.oximeter.messages import Calling
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

AT_93, AT_85 = "Saturation ninety-three.", "Saturation eighty-five."
LOST = SITE.oximeter.words.feed_lost
LEVELS = {AT_93: 93, AT_85: 85, LOST: None}


class Table:
    """A case in text whose watcher has no loudspeaker of its own."""

    def __init__(self, phrases: TypedPhrases) -> None:
        self.text = TextCase(SITE, phrases=phrases)

    def calls(self, words: str, *, ago_s: float = 0.0) -> None:
        kind = "feed-lost" if LEVELS[words] is None else "fell"
        began_s = self.text.now_s - ago_s
        calling = Calling(kind, words, LEVELS[words], LEVELS[words], began_s, began_s)
        self.text._watchkeeper.take(calling)

    def loudspeaker(self, *, there: bool) -> None:
        self.text.conversation.sound_is(hears=there, speaks=there)

    def passes(self, seconds: float, spo2_percent: int | None) -> list[str]:
        """The calls that are said to their end in that time, at this saturation."""
        before, until_s = len(self.text.lines), self.text.now_s + seconds
        self.text._spo2_percent = spo2_percent
        while self.text.now_s < until_s:
            self.text._step()
        return [line.text for line in self.text.lines[before:] if line.tag == "call"]

    def unspoken(self) -> list[str]:
        return [row.data["text"] for row in self.text.rows if row.text == "not spoken"]


@pytest.fixture(scope="module")
def phrases() -> TypedPhrases:
    return TypedPhrases(Phrasebook(SITE))


@pytest.fixture
def table(phrases: TypedPhrases) -> Iterator[Table]:
    one = Table(phrases)
    yield one
    one.text.close()


def test_nothing_old_is_said_of_a_saturation_that_came_back(table: Table) -> None:
    """The loudspeaker is out for the fall and the recovery; both calls are on record as unsaid."""
    table.loudspeaker(there=False)
    table.calls(AT_93)
    table.passes(20, 92)
    table.calls(AT_85)
    table.passes(20, 85)
    table.passes(120, 99)
    table.loudspeaker(there=True)

    assert table.passes(30, 99) == []
    assert table.unspoken() == [AT_93, AT_85]


@pytest.mark.parametrize(("now", "said"), [(84, [AT_85]), (85, [AT_85]), (90, [AT_93])])
def test_what_is_still_so_is_said_once_it_can_be(table: Table, now: int, said: list[str]) -> None:
    """The lowest level that the saturation is still at or below, and that one alone."""
    table.loudspeaker(there=False)
    table.calls(AT_93)
    table.calls(AT_85)
    assert table.passes(60, now) == []
    table.loudspeaker(there=True)

    assert table.passes(30, now) == said


def test_a_loss_that_is_over_is_not_told(table: Table) -> None:
    """Once a saturation is seen again, nobody is told that there is none."""
    table.loudspeaker(there=False)
    table.calls(LOST)
    table.passes(20, 97)
    table.loudspeaker(there=True)

    assert table.passes(30, 97) == []
    assert table.unspoken() == [LOST]


def test_where_no_saturation_is_seen_a_level_waits(table: Table) -> None:
    """It may still be low: the call is made as soon as that is seen."""
    table.loudspeaker(there=False)
    table.calls(AT_93)
    table.calls(LOST)
    table.passes(20, None)
    table.loudspeaker(there=True)

    assert table.passes(20, None) == [LOST]
    assert table.passes(10, 91) == [AT_93]


def test_a_call_that_is_broken_off_is_said_again_only_if_it_is_so(table: Table) -> None:
    """The loudspeaker goes in the middle of it."""
    for now, said in ((92, [AT_93]), (97, [])):
        table.calls(AT_93)
        table.passes(0.5, 93)
        table.loudspeaker(there=False)
        table.passes(60, 93)
        table.loudspeaker(there=True)

        assert table.passes(20, now) == said


@pytest.mark.parametrize(("now", "said"), [(84, [AT_85]), (96, [])])
def test_a_call_that_comes_late_is_made_if_it_is_so(
    table: Table, now: int, said: list[str]
) -> None:
    """The listener was started anew meanwhile; how long that took does not matter."""
    table.calls(AT_85, ago_s=NEWS_S + 0.5)

    assert table.passes(20, now) == said


def test_a_call_is_made_at_once_whatever_the_last_beat_said(table: Table) -> None:
    """News waits for nothing."""
    table.passes(3, 97)
    table.calls(AT_93)

    assert table.passes(2.5, 97) == [AT_93]


def test_a_newer_call_takes_the_place_of_one_that_was_not_heard(table: Table) -> None:
    """Nobody hears ninety-three when it is eighty-five; nor after the watcher said so itself."""
    table.calls(AT_93)
    table.calls(AT_85)
    assert table.passes(10, 85) == [AT_85]

    table.loudspeaker(there=False)
    table.calls(AT_93)
    table.loudspeaker(there=True)
    assert table.text.called(85) == []
    assert table.passes(10, 85) == []


def test_a_recovery_is_so_above_its_level() -> None:
    """Where the site has it called."""
    for spo2_percent, said in ((96, True), (92, False)):
        calls = UnheardCalls()
        call = Calling("recovered", "Saturation above ninety-three.", 93, 96, 1.0, 1.0)
        calls.wait(call)

        assert calls.settled(spo2_percent) == ((call, []) if said else (None, [call]))
