"""Confirmations and their own denials."""

from pathlib import Path

import pytest

from assistant.hearing.engines.negation import negated
from assistant.hearing.grammar import Danger, Grammar, Pattern
from assistant.hearing.heard import Verdict
from assistant.meaning.phrasebook import Phrasebook
from assistant.site.site import load_site

CONFIGS = Path(__file__).parents[2] / "configs"

SAID = (
    ("The tube is in.", "The tube isn't in."),
    ("That is right.", "That isn't right."),
    ("We tested the wave.", "We didn't test the wave."),
    ("We took the collar off.", "We haven't taken the collar off."),
    ("We chose that plan.", "We'll choose that plan."),
    ("I see it high and steady.", "I'll see it high and steady."),
    ("We gave the drugs.", "We give the drugs."),
    ("The tube went through.", "The tube will go through."),
    ("The attempt failed.", "The attempt'll fail."),
)


@pytest.mark.parametrize(
    ("words", "denied"),
    [
        ("the tube is in", ("the tube isn't in", "the tube is not in", "not the tube is in")),
        ("yes it is", ("yes it isn't", "yes it is not", "not yes it is")),
        ("we must go now", ("we mustn't go now", "we must not go now", "not we must go now")),
        ("affirmative", ("not affirmative",)),
        ("yes confirmed", ("not yes confirmed", "yes not confirmed")),
        ("end the case", ("don't end the case", "do not end the case", "not end the case")),
        (
            "we tested the wave",
            (
                *("we didn't test the wave", "we don't test the wave", "we did not test the wave"),
                *("we haven't tested the wave", "we have not tested the wave"),
                *("we never tested the wave", "we'll test the wave", "we will test the wave"),
            ),
        ),
        (
            "i drew up both drugs",
            (
                *("i didn't draw up both drugs", "i don't draw up both drugs"),
                *("i did not draw up both drugs", "i haven't drawn up both drugs"),
                *("i have not drawn up both drugs", "i never drew up both drugs"),
                *("i'll draw up both drugs", "i will draw up both drugs", "i draw up both drugs"),
            ),
        ),
        (
            "we all listen",
            (
                *("we didn't all listen", "we don't all listen", "we did not all listen"),
                *("we haven't all listened", "we have not all listened", "we never all listen"),
                *("we'll all listen", "we will all listen"),
            ),
        ),
        (
            "the tube went through",
            (
                *("the tube didn't go through", "the tube doesn't go through"),
                *("the tube did not go through", "the tube hasn't gone through"),
                *("the tube has not gone through", "the tube never went through"),
                *("the tube'll go through", "the tube will go through", "the tube goes through"),
            ),
        ),
    ],
)
def test_a_phrase_is_denied(words: str, denied: tuple[str, ...]) -> None:
    """In the forms in which people say that it is not done, not yet done, or only meant."""
    assert negated(words) == denied


@pytest.mark.parametrize(
    "site", sorted(path.name for path in CONFIGS.iterdir() if (path / "brief.yaml").is_file())
)
def test_every_confirmation_has_a_denial(site: str) -> None:
    """In whatever words a site confirms, also in another language."""
    grammar = Phrasebook(load_site(CONFIGS / site)).when_asking("anything")
    for pattern in grammar.patterns:
        if pattern.danger is Danger.HIGH:
            assert pattern.words not in negated(pattern.words)
            assert negated(pattern.words)


@pytest.mark.parametrize("voice", ["natural", "brisk", "robot"])
@pytest.mark.parametrize("pair", SAID)
def test_a_denial_is_never_the_confirmation(engine, say, in_noise, pair, voice: str) -> None:
    """ "The tube isn't in" differs from "the tube is in" by one soft sound."""
    yes, no = pair
    words = yes.lower().rstrip(".")
    engine.listen_for(Grammar((Pattern(words, "confirm", danger=Danger.HIGH),)))

    for snr_db in (None, 20, 10):
        assert engine.read(in_noise(say(no, voice), snr_db)).verdict is not Verdict.ACCEPT
    assert engine.read(in_noise(say(yes, "natural"), 20)).verdict is Verdict.ACCEPT
