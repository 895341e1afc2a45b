"""Phrases that sound alike, over all that a site ever listens for."""

from assistant.grammar.grammar import Filler, Grammar, Pattern
from assistant.phrasebook.near_pairs import alike_in


def test_two_yeses_and_two_drugs_may_sound_alike_and_a_yes_and_a_no_may_not() -> None:
    """Of two yeses the one is told how to become the other, and drugs are asked apart."""
    patterns = (
        Pattern("yes correct", "confirm"),
        Pattern("that's correct", "plain_yes"),
        Pattern("that's corrected", "bare_yes"),
        Pattern("yes incorrect", "decline"),
        Pattern("dose of {drug}", "dose"),
    )
    drugs = (Filler("rocuronium", "rocuronium"), Filler("vecuronium", "vecuronium"))

    found = alike_in(Grammar(patterns, {"drug": drugs}), "en-us")

    assert [{pair.one, pair.other} for pair in found] == [{"yes correct", "yes incorrect"}]
