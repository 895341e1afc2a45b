"""What may still come of words: the same thing said longer, or another."""

import pytest

from assistant.grammar.grammar import Filler, Grammar, Pattern
from assistant.grammar.word_tree import WordTree

TREE = WordTree(
    Grammar(
        (
            Pattern("drawn up", "plain_yes"),
            Pattern("drawn up and labelled", "plain_yes"),
            Pattern("no", "decline"),
            Pattern("no wait", "back"),
            Pattern("{litres} litres", "number"),
            Pattern("{litres} litres a minute", "number"),
            Pattern("dose of {drug}", "dose"),
            Pattern("dose of {drug} for {litres} litres", "dose"),
        ),
        {
            "litres": (Filler("fifteen", 15.0), Filler("twenty", 20.0), Filler("twenty two", 22.0)),
            "drug": (Filler("ketamine", "ketamine"),),
        },
    )
)


@pytest.mark.parametrize(
    ("words", "elsewhere"),
    [
        ("drawn up", False),
        ("drawn up and labelled", False),
        ("drawn", True),
        ("no", True),
        ("no wait", False),
        ("fifteen litres", False),
        ("twenty", True),
        ("dose of ketamine", True),
    ],
)
def test_only_what_may_become_another_thing_is_waited_for(words: str, elsewhere: bool) -> None:
    """Another answer, another number or a dose for a weight; not the same answer said longer."""
    assert TREE.leads_elsewhere(words.split()) is elsewhere
