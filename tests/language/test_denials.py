"""What makes a phrase no yes: a denial or a doubt in it, or that it asks."""

import pytest

from assistant.language.denials import asks, denied_in, only_assents


@pytest.mark.parametrize(
    ("words", "denial"),
    [
        ("both not working", "not"),
        ("no suction here", "no"),
        ("nope", "nope"),
        ("it isn't on", "isn't"),
        ("we did not go through the allergies", "not"),
        ("i think so", "think"),
        ("almost there", "almost"),
        ("should be", "should"),
        ("if the mask is on", "if"),
    ],
)
def test_a_denial_or_a_doubt_is_found(words: str, denial: str) -> None:
    """The word that takes back what the rest says."""
    assert denied_in(words, "en") == denial


@pytest.mark.parametrize(
    "words",
    [
        "both working",
        "noted",
        "nose prongs on",
        "knot tied",
        "neck notch felt",
        "the mask was held on",
        "another tube is ready",
    ],
)
def test_letters_of_a_denial_within_a_word_are_none(words: str) -> None:
    """ "Nose" holds no "no"."""
    assert denied_in(words, "en") is None


@pytest.mark.parametrize(
    "words",
    [
        "are both working",
        "is the mask held on",
        "is it on",
        "did we go through the plan",
        "have you told everyone",
        "has the wave been seen",
        "what is on",
        "who's ready",
        "all done is it",
        "we're good are we",
    ],
)
def test_a_question_is_found(words: str) -> None:
    """By how it opens, or by its tag."""
    assert asks(words, "en")


@pytest.mark.parametrize(
    "words",
    [
        "will do",
        "have it",
        "have both ready",
        "did that",
        "did it already",
        "can feel the gap",
        "is ready",
        "yes it is",
        "it is on",
        "does not apply",
        "has been tested",
        "we did it",
    ],
)
def test_what_people_leave_out_makes_no_question(words: str) -> None:
    """ "Have it" is short for "I have it"."""
    assert not asks(words, "en")


@pytest.mark.parametrize("words", ["아니요", "아직 확인 안 돼요", "들어가지 않았습니다"])
def test_korean_has_its_own_denials(words: str) -> None:
    """And "네 이상 없음", "yes, nothing is wrong", is none."""
    assert denied_in(words, "ko")
    assert denied_in("네 이상 없음", "ko") is None
    assert asks("튜브 들어갔습니까", "ko")
    assert not asks("네 맞 습니다", "ko")


def test_a_mere_yes_tells_nothing_else() -> None:
    """ "Yes it's on" names what is so."""
    assert all(only_assents(words, "en") for words in ("yes", "yeah", "yes it is", "that's right"))
    assert not any(only_assents(words, "en") for words in ("yes it's on", "it's on", "not yet"))
    assert only_assents("네", "ko")
