"""Plain answers that the model writes otherwise than they are spelt."""

from dataclasses import replace

import numpy as np
import pytest

from assistant.grammar.grammar import Danger, Grammar, Pattern
from assistant.grammar.word_tree import Phrase
from assistant.hearing.engines.closed.answer_spellings import (
    answers,
    learn,
    store,
    stored,
    with_answer_spellings,
)
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.negation import denials, doubts_after, doubts_before
from assistant.hearing.engines.closed.rivals import wrote_more
from assistant.hearing.soundalikes import phonemes, unlikeness
from assistant.speaking.voices import open_voice
from tests.hearing.conftest import VOICES

SEEN = Pattern("plateau seen", "plain_yes", danger=Danger.PLAIN)
OFF = Pattern("plateau off", "plain_yes", danger=Danger.PLAIN)
RENDERINGS = 8
PHRASES = Grammar((SEEN, OFF, Pattern("no", "decline", danger=Danger.LOW)))


@pytest.fixture(autouse=True)
def _own_cache(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))


def test_what_is_learnt_sounds_most_like_the_answer(engine, tmp_path, monkeypatch) -> None:
    """A spelling as near to another phrase, or to the answer denied, would be that.

    Said again and again, as the robot says nothing twice alike: of one rendering in five the model
    writes nothing that is like it.
    """
    said = []
    for number in range(RENDERINGS):
        monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / str(number)))  # else it is kept
        said.append(np.pad(open_voice(VOICES["robot"]).render("Plateau seen."), 4000))

    learnt = learn(["plateau seen"], PHRASES, engine.model, lambda _: said)

    spellings = learnt["plateau seen"]
    others = ["plateau off", "no", *denials("plateau seen")]
    others += [*doubts_before("plateau seen"), *doubts_after("plateau seen")]
    sounds = phonemes([*spellings, *others, "plateau seen"])
    assert spellings
    for spelling in spellings:
        own = unlikeness(sounds[spelling], sounds["plateau seen"])
        assert all(own < unlikeness(sounds[spelling], sounds[other]) for other in others)


def test_what_is_learnt_is_kept_beside_what_was_known() -> None:
    """Learning a second site does not forget the first."""
    store({"plateau seen": ("plato seen",)})
    store({"plateau off": ()})

    known = stored()

    assert known["plateau seen"] == ("plato seen",)
    assert known["plateau off"] == ()


def test_only_plain_answers_are_spelt_otherwise() -> None:
    """What is acted upon at once, a decoy and a phrase with a number in it stay as they are."""
    others = (
        replace(SEEN, danger=Danger.HIGH, meaning="confirm"),
        replace(SEEN, for_me=False),
    )
    store({"plateau seen": ("plato seen",)})

    spelt = with_answer_spellings(Grammar((SEEN, *others)))

    assert spelt.patterns == (replace(SEEN, respellings=("plato seen",)), *others)
    assert answers(Grammar((SEEN, *others))) == ["plateau seen"]


def test_a_phrase_of_the_site_is_no_spelling_of_another() -> None:
    """Whatever was learnt before the phrase came into the site's files."""
    store({"plateau seen": ("plateau off", "plato seen")})

    spelt = with_answer_spellings(PHRASES)

    assert spelt.patterns[0].respellings == ("plato seen",)


@pytest.mark.parametrize("content", [b'{"plateau se', b"[]", b'{"plateau seen": 1}', b"\xff"])
def test_a_file_that_is_torn_is_as_if_never_learnt(content, tmp_path) -> None:
    """It costs learning again, and no hearing."""
    store({"plateau seen": ("plato seen",)})
    (path,) = (tmp_path / "spoken-brief").glob("answer-spellings-*.json")
    path.write_bytes(content)
    store({})  # reads it anew

    assert "plateau seen" not in stored()


def test_an_answer_is_heard_by_its_other_spelling(engine, say) -> None:
    """As well as if that were the phrase, and told by the site's own words."""
    by = ClosedGrammarEngine(model=engine.model)
    sound = np.pad(say("Plateau seen.", "robot"), 4000)
    store({"plateau seen": ("plateau scene", "plato seen")})

    by.listen_for(PHRASES)
    both = by.weigh(sound)
    by.listen_for(replace(PHRASES, patterns=(replace(SEEN, words="plato seen"), OFF)))
    other = by.weigh(sound)

    assert both.best.phrase.words == "plateau seen"
    assert both.best.total >= other.best.total - 0.5  # arithmetic differs by the batch


@pytest.mark.parametrize(
    ("written", "more"),
    [
        ("Plateau seen.", False),
        ("Plato seen.", False),
        ("Plate owe seen.", False),
        ("Plato seen, if he can.", True),
        ("A late hour seen Peking.", True),
    ],
)
def test_more_may_have_been_said_around_any_spelling(written: str, more: bool) -> None:
    """What the model writes unprompted has the answer in it as it spells it, or is far longer."""
    answer = Phrase(replace(SEEN, respellings=("plato seen",)), ())

    assert wrote_more(answer, written) is more


def test_what_is_long_by_itself_is_no_more_than_a_question() -> None:
    """Only of a plain answer length alone tells: a drug's name is written in many ways."""
    asked = Phrase(Pattern("what is left", "left"), ())

    assert not wrote_more(asked, "What is in the locker now?")
    assert wrote_more(asked, "What is left in the locker?")
