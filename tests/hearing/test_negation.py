"""Confirmations and their own denials."""

from pathlib import Path

import pytest

from assistant.brief.case import Case
from assistant.brief.states import State
from assistant.grammar.grammar import Danger, Grammar, Pattern
from assistant.grammar.readings import Verdict
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.negation import (
    conditions,
    denials,
    doubts_after,
    doubts_before,
    is_another_form,
    is_near_its_denial,
    opposites,
)
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import load_site
from tests.tarn_hollow import SITE

CONFIGS = Path(__file__).parents[2] / "configs"

SAID = (
    ("The tube is in.", "The tube isn't in."),
    ("That is right.", "That isn't right."),
    ("We saw both drugs labelled.", "We didn't see both drugs labelled."),
    ("We took the collar off.", "We haven't taken the collar off."),
    ("We saw the wave come.", "We'll see the wave come."),
    ("I see it high and steady.", "I'll see it high and steady."),
    ("We gave the drugs.", "We give the drugs."),
    ("We saw the wave come.", "Have we seen the wave come?"),
    ("We saw the mask held on.", "We nearly saw the mask held on."),
    ("We took the collar off.", "Before we took the collar off."),
    ("We saw both drugs labelled.", "Unless we saw both drugs labelled."),
    ("We went through the oxygenation.", "Provided we went through the oxygenation."),
    ("The tube went through.", "The tube will go through."),
    ("The attempt failed.", "The attempt'll fail."),
)


DENIED = {
    "the tube is in": ("the tube isn't in", "the tube is not in", "not the tube is in"),
    "yes it is": ("yes it isn't", "yes it is not", "not yes it is"),
    "we must go now": ("we mustn't go now", "we must not go now", "not we must go now"),
    "affirmative": ("not affirmative",),
    "yes confirmed": ("not yes confirmed", "yes not confirmed", "not confirmed"),
    "end the case": ("don't end the case", "do not end the case", "not end the case"),
}


def test_a_phrase_is_denied() -> None:
    """As people say it, and spelt out; an order with "don't"; else wherever a "not" may stand."""
    assert {words: denials(words) for words in DENIED} == DENIED


DOUBTED = {
    "we tested the wave": (
        *("we didn't test the wave", "we don't test the wave", "we did not test the wave"),
        *("we haven't tested the wave", "we have not tested the wave"),
        *("we never tested the wave", "we nearly tested the wave"),
        *("we'll test the wave", "we will test the wave"),
        *("have we tested the wave", "did we test the wave", "if we tested the wave"),
    ),
    "i drew up both drugs": (
        *("i haven't drawn up both drugs", "i'll draw up both drugs", "i draw up both drugs"),
    ),
    "we all took it in": ("we didn't all take it in", "have we all taken it in"),
    "the tube went through": (
        *("the tube doesn't go through", "the tube hasn't gone through"),
        *("the tube'll go through", "the tube goes through", "did the tube go through"),
    ),
    "the drugs went in": ("the drugs haven't gone in", "the drugs go in"),
    "the attempt begins": ("the attempt doesn't begin", "the attempt will begin"),
}


def test_a_deed_is_doubted() -> None:
    """As not done, nearly done, only meant or asked after, whatever its verb and whoever did it."""
    for did, doubts in DOUBTED.items():
        missing = set(doubts) - {*denials(did), *conditions(did)}
        assert not missing, (did, missing)


CONDITIONS = (
    *("if", "provided", "after", "as soon as", "whether"),
    *("maybe", "perhaps", "presumably", "i think"),
)


def test_a_statement_becomes_a_condition() -> None:
    """An "if" or a "perhaps" before it: it states nothing any more."""
    for said in ("we went through the oxygenation", "the tube is in"):
        assert {f"{condition} {said}" for condition in CONDITIONS} <= set(conditions(said))


def test_what_states_nothing_has_no_conditions() -> None:
    """Of an order or a bare yes there is nothing to be conditional."""
    for said in ("yes confirmed", "end the case", "affirmative"):
        assert conditions(said) == (), said


NEAR = ("the tube is in", "we sealed the mask", "we all listen", "we brought the head up")
FAR = (
    *("we saw the mask on", "the tube went through", "the attempt begins", "the attempt failed"),
    "affirmative",
)


def test_which_phrases_sound_like_their_denial() -> None:
    """Those with an auxiliary, a weak verb, or a verb as it is when only meant."""
    assert [words for words in (*NEAR, *FAR) if is_near_its_denial(words)] == [*NEAR]


@pytest.mark.parametrize(
    "site", sorted(path.name for path in CONFIGS.iterdir() if (path / "brief.yaml").is_file())
)
def test_every_confirmation_has_a_denial(site: str) -> None:
    """In whatever words a site confirms, also in another language."""
    grammar = Phrasebook(load_site(CONFIGS / site)).when_asking("anything")
    for pattern in grammar.patterns:
        if pattern.danger is Danger.HIGH:
            assert pattern.words not in denials(pattern.words)
            assert denials(pattern.words)


def test_a_denial_is_never_the_confirmation(engine, say, in_noise) -> None:
    """ "The tube isn't in" differs from "the tube is in" by one soft sound.

    By each voice and in each noise, one with another in turn; the held-out bench has thousands.
    """
    believed = []
    for place, (yes, no) in enumerate(SAID):
        expect(engine, yes)
        for step, voice in enumerate(("natural", "brisk", "robot")):
            snr_db = (None, 20, 10)[(place + step) % 3]
            reading = engine.read(in_noise(say(no, voice), snr_db))
            if reading.verdict is Verdict.ACCEPT:
                believed.append((no, voice, snr_db, reading))

    assert believed == []


def test_beside_its_denial_the_confirmation_is_still_heard(engine, say) -> None:
    """Never ignored, mostly accepted: one that is surely understood need not be asked again."""
    readings = {}
    for yes, _ in SAID:
        expect(engine, yes)
        readings[yes] = engine.read(say(yes, "natural"))
    asked_again = [one for one in readings.values() if one.verdict is not Verdict.ACCEPT]

    assert [one for one in readings.values() if one.verdict is Verdict.IGNORE] == []
    assert len(asked_again) <= len(readings) / 4, asked_again


def expect(engine: ClosedGrammarEngine, confirmation: str) -> None:
    """Only this may be said."""
    words = confirmation.lower().rstrip(".")
    engine.listen_for(Grammar((Pattern(words, "confirm", danger=Danger.HIGH),)))


def test_a_plain_answer_is_weighed_against_what_people_put_around_it() -> None:
    """It has no verb that could be denied: "drawn up soon", "is it drawn up"."""
    assert "is it drawn up" in doubts_before("drawn up")
    assert "drawn up soon" in doubts_after("drawn up")


@pytest.mark.parametrize("said", ["Two suctions working soon.", "If two suctions working."])
def test_a_plain_answer_that_is_taken_back_settles_nothing(engine, say, said: str) -> None:
    """As it came, and by a voice that is understood well."""
    engine.listen_for(Grammar((Pattern("two suctions working", "plain_yes", danger=Danger.PLAIN),)))
    assert engine.read(say(said)).verdict is not Verdict.ACCEPT
    assert engine.read(say("Two suctions working.")).verdict is Verdict.ACCEPT


@pytest.mark.parametrize(
    ("word", "of", "other"),
    [
        ("drawing", "drawn", True),
        ("test", "tested", True),
        ("labelled", "labeled", False),
        ("tide", "tied", False),
        ("walking", "working", False),
    ],
)
def test_another_form_of_a_verb_is_another_time(word: str, of: str, other: bool) -> None:
    """What is being done, or ordered, is not done yet; two ways to write one form are one."""
    assert is_another_form(word, of) is other


def test_a_not_stands_also_in_place_of_the_first_word() -> None:
    """A "not done" was heard as "that's done", and a "not working" as "both working"."""
    assert "not done" in denials("that's done")
    assert "not on" in denials("it's on")
    assert "not working" in denials("both working")
    assert denials("fixed") == ("not fixed",)
    assert "not applicable" not in denials("not applicable")


def test_a_word_turned_into_its_opposite_takes_an_answer_back() -> None:
    """One word at a time; most words have none."""
    assert opposites("it's on") == ("it's off",)
    assert opposites("both in view") == ("one in view", "both out view")
    assert opposites("drawn up and labelled") == ("drawn down and labelled",)
    assert opposites("tied") == ()


@pytest.mark.parametrize(
    ("answer", "denied"),
    [
        ("we can see them", "we can't see them"),
        ("everyone will", "everyone won't"),
        ("it's on", "it isn't on"),
        ("they're here", "they aren't here"),
        ("we've got a wave", "we haven't got a wave"),
        ("nasals on", "nasals aren't on"),
        ("collar off and held", "collar isn't off and held"),
        ("gloves and masks on", "gloves and masks aren't on"),
    ],
)
def test_a_verb_that_is_short_or_left_out_is_denied_too(answer: str, denied: str) -> None:
    """ "We can't see them" was taken for "we can see them" of every voice that said it."""
    assert denied in denials(answer)


@pytest.mark.parametrize(
    ("item", "said"),
    [
        ("monitors", "we can't see them"),
        ("monitors", "everyone can't see"),
        ("nasal-oxygen", "nasals aren't on"),
    ],
)
def test_what_is_denied_by_a_soft_sound_settles_nothing(engine, say, item: str, said: str) -> None:
    """Said of the item that is asked, surely heard and in quiet."""
    case = Case(SITE.brief)
    case.state, case.known.current = State.ASKING, item
    engine.listen_for(Phrasebook(SITE).now(case))
    reading = engine.read(say(f"{said}."))
    settles = reading.meaning in ("plain_yes", "confirm") and reading.verdict is Verdict.ACCEPT
    assert not settles
