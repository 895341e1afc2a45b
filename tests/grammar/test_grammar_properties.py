"""What holds for every phrase of the shipped site's grammars, not only for those tried by hand."""

from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.brief.items import ITEM_KINDS
from assistant.grammar.grammar import SLOT, Grammar, Pattern
from assistant.grammar.word_tree import WordTree
from assistant.phrasebook.phrasebook import Phrasebook
from tests.tarn_hollow import SITE

KINDS = (*ITEM_KINDS, "anything")


@cache
def grammar(kind: str) -> Grammar:
    return Phrasebook(SITE).when_asking(kind)


@cache
def tree(kind: str) -> WordTree:
    return WordTree(grammar(kind))


@st.composite
def said(draw) -> tuple[str, str, Pattern, dict[str, object]]:
    """A whole phrase that may be said while an item of some kind is asked."""
    kind = draw(st.sampled_from(KINDS))
    pattern = draw(st.sampled_from(grammar(kind).patterns))
    words, values = pattern.words, dict(pattern.values)
    for slot in SLOT.findall(pattern.words):
        filler = draw(st.sampled_from(grammar(kind).fillers[slot]))
        words = words.replace(f"{{{slot}}}", filler.words, 1)
        values[slot] = filler.value
    return kind, words, pattern, values


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(said())
def test_words_and_meaning_are_stable(phrase) -> None:
    """What may be said is matched by its own words, with its own values, and says itself again."""
    kind, words, pattern, values = phrase

    matched = tree(kind).match(words.split())

    assert (pattern.meaning, values) in [(one.pattern.meaning, one.values) for one in matched]
    for one in matched:
        assert one.words == words or one.values == values
        again = tree(kind).match(one.words.split())
        assert one.values in [other.values for other in again]


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(said())
def test_no_phrase_means_two_things(phrase) -> None:
    """While any one item is asked, words have one meaning and one set of values.

    A bare number may also be the start of a pattern that takes it by another name; its value is
    the same.
    """
    kind, words, _, _ = phrase
    matched = [one for one in tree(kind).match(words.split()) if one.pattern.for_me]

    assert len({(one.pattern.meaning, tuple(one.values.values())) for one in matched}) <= 1


@pytest.mark.parametrize("kind", KINDS)
def test_no_decline_is_also_a_confirmation(kind: str) -> None:
    """Not one of them, in any state, nor any decoy."""
    for pattern in grammar(kind).patterns:
        if pattern.meaning == "decline" or not pattern.for_me:
            meanings = {one.pattern.meaning for one in tree(kind).match(pattern.words.split())}
            assert "confirm" not in meanings, pattern.words


@pytest.mark.parametrize("kind", KINDS)
def test_a_decline_less_its_first_word_is_no_two_word_confirmation(kind: str) -> None:
    """A lost "not" must not leave a whole confirmation, but for the one that the ear knows of."""
    confirmations = {p.words for p in grammar(kind).patterns if p.meaning == "confirm"}
    shortened = {
        p.words.partition(" ")[2] for p in grammar(kind).patterns if p.meaning == "decline"
    }

    assert shortened & confirmations <= {"confirmed"}
