"""What the hearing bench holds out must not have tuned anything: else its figures say too much."""

from collections import defaultdict
from collections.abc import Mapping
from functools import cache

import pytest

from assistant.fitting import window
from assistant.fitting.corpus import HELD_OUT_KG, TUNING_KG, plain, sentences
from assistant.fitting.voices import HELD_OUT, TUNING
from tests.tarn_hollow import SITE


@cache
def _half(*, held_out: bool) -> Mapping[str, set[str]]:
    """The words of its sentences, by their kind."""
    said = defaultdict(set)
    for one in sentences(SITE, held_out=held_out):
        said[one.kind].add(plain(one.text))
    return said


@pytest.mark.parametrize("kind", ["decline in other words", "hedge", "talk", "weight", "dose"])
def test_no_sentence_is_in_both_halves(kind: str) -> None:
    tuning, held_out = _half(held_out=False)[kind], _half(held_out=True)[kind]
    assert tuning
    assert held_out
    assert not tuning & held_out


def test_no_sentence_of_the_answer_window_is_in_both_halves() -> None:
    """But for the site's own phrases: its answers, and its commands in the place of one."""

    def wrong(*, held_out: bool) -> set[str]:
        said = window.sentences(SITE, held_out=held_out)
        return {plain(one.text) for one in said if one.kind not in shared and not one.meaning}

    shared = (*window.TRUE, "others' yes")
    tuning, held_out = wrong(held_out=False), wrong(held_out=True)
    assert len(tuning) > 1000
    assert len(held_out) > 1000
    assert not tuning & held_out


def test_no_voice_nor_weight_is_in_both_halves() -> None:
    assert not set(TUNING) & set(HELD_OUT)
    assert not set(TUNING_KG) & set(HELD_OUT_KG)
