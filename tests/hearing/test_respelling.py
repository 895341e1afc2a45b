"""Respellings offered for words that a recogniser lacks, with espeak-ng's real phonemes."""

import struct
from pathlib import Path

import pytest

from assistant.errors import BadInput
from assistant.hearing.engines.vosk.respelling import MOST_OFFERED, MOST_WORDS, offers, vocabulary
from assistant.hearing.soundalikes import phonemes, unlikeness

WORDS = (
    "a air all am an and arm ate bar bat can car dose eat end fan fat fen "
    "fin for gas get go ham hat he in it jam keep key kit knee know lid low "
    "ma man may me mean mid mine my near new nil no nor of oh on or own "
    "pan pen phone pin pro pull row rock roll run sea see set sit soul sum tan ten "
    "the thin to toe too two um us van view we win you your zero fentanyl "
)
ENGLISH = WORDS.split()


def pushed(offered: str, word: str, voice: str = "en-us") -> float:
    """How far an offer sounds from the word."""
    sounds = phonemes([offered, word], voice)
    return unlikeness(sounds[offered], sounds[word])


@pytest.mark.parametrize("word", ["rocuronium", "midazolam", "ketamine"])
def test_known_words_that_sound_alike_are_offered(word: str) -> None:
    """Combinations of the vocabulary's own words, nearer to this word than chance would be."""
    offered = offers([word], ENGLISH)[word]

    assert 1 <= len(offered) <= MOST_OFFERED
    for one in offered:
        assert set(one.split()) <= set(ENGLISH)
        assert len(one.split()) <= MOST_WORDS
        assert pushed(one, word) < pushed(one, "saturation")
    assert pushed(offered[0], word) == min(pushed(one, word) for one in offered)


def test_the_obvious_one_is_found() -> None:
    """By hand: what says "kit a mean" says ketamine."""
    assert pushed("kit a mean", "ketamine") < 0.25
    best = offers(["ketamine"], ENGLISH)["ketamine"][0]
    assert pushed(best, "ketamine") <= pushed("kit a mean", "ketamine")


def test_korean_syllables_are_parted() -> None:
    """A word that the model lacks is made of those that it has; the language is espeak-ng's."""
    known = ["맞", "이", "백", "니다", "씁니다", "산소", "기", "로", "쿠로", "늄", "네"]
    offered = offers(["맞습니다", "이백", "로쿠로늄"], known, "ko")

    assert offered["맞습니다"][0] == "맞 씁니다"
    assert offered["이백"][0] == "이 백"
    assert offered["로쿠로늄"][0] == "로 쿠로 늄"


def test_nothing_is_offered_that_sounds_otherwise() -> None:
    """Rather no offer than one that would never be heard as the word."""
    assert offers(["rocuronium"], ["key", "bat"]) == {"rocuronium": ()}
    assert offers([], ENGLISH) == {}


def table(words: list[str]) -> bytes:
    """A symbol table as OpenFst writes it into the head of a graph."""
    named = b"words.txt"
    out = struct.pack("<i", 2125658996) + struct.pack("<i", len(named)) + named
    out += struct.pack("<qq", len(words), len(words))
    for number, word in enumerate(words):
        out += struct.pack("<i", len(word.encode())) + word.encode() + struct.pack("<q", number)
    return out


def test_the_vocabulary_is_read_from_list_or_graph(tmp_path: Path) -> None:
    """Large models have a list, small ones keep their words in the graph; marks are no words."""
    words = ["<eps>", "네", "rock", "#0", "[unk]", "산소", "[07]"]
    (tmp_path / "graph").mkdir()
    graph = b"\x00head" + table(["<eps>"]) + b"between" + table(words) + b"arcs"
    (tmp_path / "graph" / "Gr.fst").write_bytes(graph)
    assert vocabulary(tmp_path) == ("네", "rock", "산소")

    listed = "\n".join(f"{word} {number}" for number, word in enumerate(["<eps>", "um", "네"]))
    (tmp_path / "graph" / "words.txt").write_text(listed, encoding="utf-8")
    assert vocabulary(tmp_path) == ("um", "네")


def test_a_folder_without_words_is_one_sentence(tmp_path: Path) -> None:
    """What was found, what is allowed."""
    with pytest.raises(BadInput, match=r"found no list of words; allowed: graph/words\.txt or Gr"):
        vocabulary(tmp_path)
