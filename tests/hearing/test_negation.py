"""Confirmations and their own denials."""

import pytest

from assistant.hearing.engines.negation import negated
from assistant.hearing.grammar import Danger, Grammar, Pattern
from assistant.hearing.heard import Verdict

SAID = (
    ("The tube is in.", "The tube isn't in."),
    ("That is right.", "That isn't right."),
    ("We tested the wave.", "We didn't test the wave."),
    ("We took the collar off.", "We haven't taken the collar off."),
    ("We chose that plan.", "We'll choose that plan."),
    ("I see it high and steady.", "I'll see it high and steady."),
)


@pytest.mark.parametrize(
    ("words", "denied"),
    [
        ("the tube is in", ("the tube isn't in", "the tube is not in", "not the tube is in")),
        ("yes it is", ("yes it isn't", "yes it is not", "not yes it is")),
        (
            "everyone is protected",
            ("everyone isn't protected", "everyone is not protected", "not everyone is protected"),
        ),
        ("confirmed", ("not confirmed",)),
        (
            "we tested the wave",
            (
                *("we didn't tested the wave", "we don't tested the wave"),
                *("we haven't tested the wave", "we did not tested the wave"),
                *("we have not tested the wave", "we never tested the wave"),
                *("we'll tested the wave", "we will tested the wave"),
            ),
        ),
        (
            "tube in cuff up",
            (
                "not tube in cuff up",
                "tube not in cuff up",
                "tube in not cuff up",
                "tube in cuff not up",
            ),
        ),
    ],
)
def test_a_phrase_is_denied(words: str, denied: tuple[str, ...]) -> None:
    """As people say it, and spelt out; without a verb or a speaker, wherever a "not" may stand."""
    assert negated(words) == denied


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
