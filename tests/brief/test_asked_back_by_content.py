"""What was not surely heard: asked for again, and by its content when it comes out the same."""

from collections.abc import Callable, Iterator

import pytest

from assistant.brief.states import State
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

Opened = Callable[..., TextCase]


@pytest.fixture(scope="module")
def phrases() -> TypedPhrases:
    return TypedPhrases(Phrasebook(SITE))


@pytest.fixture
def talk(phrases: TypedPhrases) -> Iterator[TextCase]:
    """A case in which the first item is asked."""
    case = TextCase(SITE, phrases=phrases, word_s=0)
    case.hears("begin the brief")
    yield case
    case.close()


def test_a_command_that_comes_out_the_same_is_asked_back(talk: TextCase) -> None:
    """ "Say again?" once; then a yes is enough."""
    words = SITE.wording.may_be_said.go_now[0]
    assert [line.tag for line in talk.hears(words, sure=False)] == ["again"]
    (line,) = talk.hears(words, sure=False)
    assert line.tag == "doubt"
    assert line.text.lower() == f"{words}, yes?"
    talk.hears("yes")
    assert talk.lines[-1].tag == "went-now"


def test_a_no_to_it_leads_back(talk: TextCase) -> None:
    """Nothing has happened."""
    item = talk.case.known.current
    for _ in range(2):
        talk.hears("hold on", sure=False)
    assert talk.case.state is State.DOUBTING
    (line,) = talk.hears("no")
    assert (line.tag, line.item) == ("ask", item)


def test_another_one_is_asked_for_again(talk: TextCase) -> None:
    """Only what comes out the same twice is asked back."""
    assert [line.tag for line in talk.hears("hold on", sure=False)] == ["again"]
    assert [line.tag for line in talk.hears("what is left", sure=False)] == ["again"]
    talk.hears("yes confirmed")
    assert [line.tag for line in talk.hears("what is left", sure=False)] == ["again"]


def test_an_unsure_yes_to_a_weight_has_it_read_back_once_more(talk: TextCase) -> None:
    """It confirms nothing, however often; the second time the number comes again."""
    talk.hears("the weight is seventy two kilos")
    assert [line.tag for line in talk.hears("correct", sure=False)] == ["again"]
    (line,) = talk.hears("correct", sure=False)
    assert line.tag == "read-back"
    assert talk.case.known.weight_kg is None


def test_an_unsure_number_that_cannot_be_is_no_new_read_back(talk: TextCase) -> None:
    """ "Correct" that was heard as "three", while a weight is read back."""
    while talk.case.known.current != "weight":
        talk.hears("not yet")
    talk.hears("seventy two kilos")
    assert talk.case.state is State.CHECKING
    assert [line.tag for line in talk.hears("three", sure=False)] == ["again"]
    assert [line.tag for line in talk.hears("three", sure=False)] == ["read-back"]
    talk.hears("yes confirmed")
    assert talk.case.known.weight_kg == 72


@pytest.mark.parametrize(
    "before",
    [
        ("he's seventy kilos",),  # is read back
        ("he's seventy kilos", "yes", "how much rocuronium"),
        ("he's seventy kilos", "yes", "how do i mix ketamine"),
    ],
)
def test_a_command_in_its_place_that_is_none_there_asks_what_stands(
    talk: TextCase, before: tuple[str, ...]
) -> None:
    """ "Stop, yes?" was answered by "begin" while something awaited its yes: the program ended."""
    for words in before:
        talk.hears(words)
    state, stands = talk.case.state, talk.lines[-1]
    for _ in range(2):
        talk.hears("stop", sure=False)
    assert talk.case.state is State.DOUBTING
    assert talk.hears("begin")[-1].tag == stands.tag
    assert talk.case.state is state


def test_before_whose_case_it_is_a_command_in_doubt_waits_as_well(talk: TextCase) -> None:
    """Surely heard it is answered with the question that stands; in doubt it counted."""
    talk.hears("he's seventy kilos")
    talk.restarts(rebooted=True)
    for _ in range(2):
        talk.hears("begin", sure=False)
    assert [line.tag for line in talk.hears("yes")] == ["same-patient"]
    assert talk.case.state is State.IDENTIFYING
