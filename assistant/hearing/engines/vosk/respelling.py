"""Words that a recogniser lacks: which words that it has sound like them, one after another.

"rocuronium" is in few dictionaries; "rock your own ium" may be. What is offered here is tried by
ear before it is believed: `spoken-brief hear` shows how a recording of it is read.
"""

import struct
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path

from rapidfuzz import fuzz, process
from rapidfuzz.distance import Levenshtein

from assistant.errors import BadInput
from assistant.hearing.soundalikes import families, phonemes, plain_sounds, unlikeness

MOST_WORDS = 4
MOST_OFFERED = 3
UNLIKE_FROM = 0.4
"""An offer that sounds further from the word than this is not used."""
_CANDIDATES = 1500
"""Words of the vocabulary that are looked at for one word: those most like a part of it in writing.
To have all of a vocabulary pronounced takes minutes."""
_NEAREST, _KEPT = 8, 16
"""How many words are tried for one piece, and how many beginnings are kept and continued."""
_WORD_COST = 0.3
"""Of each further word, in sounds: few long words are understood better than many short ones."""
_SYMBOL_TABLE = struct.pack("<i", 2125658996)
"""How a symbol table begins in a file of OpenFst."""


def vocabulary(model: Path) -> tuple[str, ...]:
    """The words of a Vosk model's folder: its list, or the symbols kept within its graph.

    Raises BadInput when the folder has neither.
    """
    listed, graph = model / "graph" / "words.txt", model / "graph" / "Gr.fst"
    if listed.is_file():
        lines = listed.read_text(encoding="utf-8").splitlines()
        return _spoken_words(line.split()[0] for line in lines if line.strip())
    if graph.is_file():
        return _spoken_words(_symbols(graph.read_bytes()))
    raise BadInput.in_file(model, found="no list of words", allowed="graph/words.txt or Gr.fst")


def offers(
    missing: Sequence[str], known: Sequence[str], voice: str = "en-us"
) -> Mapping[str, tuple[str, ...]]:
    """For each missing word, combinations of known words that sound alike, the nearest first.

    `voice` is espeak-ng's voice of the language. Raises OSError when espeak-ng is not there.
    """
    if not missing:
        return {}
    written = [unicodedata.normalize("NFD", word) for word in known]
    likely = {word: _likely(word, known, written) for word in missing}
    sounds = phonemes([*missing, *(one for of in likely.values() for one in of)], voice)
    found = {word: _combinations(sounds[word], likely[word], sounds) for word in missing}
    joined = phonemes([one for of in found.values() for one in of], voice) if found else {}
    return {
        word: tuple(
            one
            for differ, one in sorted((unlikeness(sounds[word], joined[one]), one) for one in of)
            if differ < UNLIKE_FROM
        )[:MOST_OFFERED]
        for word, of in found.items()
    }


def _likely(word: str, known: Sequence[str], written: Sequence[str]) -> list[str]:
    """The known words that are written like a part of the word."""
    found = process.extract(
        unicodedata.normalize("NFD", word), written, scorer=fuzz.partial_ratio, limit=_CANDIDATES
    )
    return [known[at] for _, _, at in found if len(known[at]) <= len(word)]


def _combinations(target: str, words: Sequence[str], sounds: Mapping[str, str]) -> list[str]:
    """The best sequences of words whose sounds make up the target's, by dynamic programming."""
    target = plain_sounds(target)
    by_sound: dict[str, str] = {}
    for word in words:  # of those that sound the same, the one written most like it
        by_sound.setdefault(plain_sounds(sounds[word]), word)
    by_sound.pop("", None)
    choices = list(by_sound)
    nearest = cache(lambda piece: _nearest(piece, choices))
    best: list[list[tuple[float, str]]] = [[] for _ in range(len(target) + 1)]
    best[0] = [(0.0, "")]
    for end in range(1, len(target) + 1):
        reached = []
        for start in range(max(0, end - 9), end):
            if not best[start]:
                continue
            for cost, sound in nearest(target[start:end]):
                for before, phrase in best[start]:
                    if phrase.count(" ") + 1 < MOST_WORDS:
                        further = f"{phrase} {by_sound[sound]}".strip()
                        reached.append((before + cost + _WORD_COST, further))
        best[end] = sorted(set(reached))[:_KEPT]
    return [phrase for _, phrase in best[-1]]


def _nearest(piece: str, choices: Sequence[str]) -> list[tuple[float, str]]:
    """The known sounds that are most like a piece, with how many sounds they differ by."""
    found = process.extract(
        families(piece),
        [families(one) for one in choices],
        scorer=Levenshtein.distance,
        limit=_NEAREST,
        score_cutoff=max(1, len(piece) // 2),
    )
    return [
        ((cost + Levenshtein.distance(piece, choices[at])) / 2, choices[at])
        for _, cost, at in found
    ]


def _spoken_words(words: Iterable[str]) -> tuple[str, ...]:
    """Those that somebody can say: no signs, numerals and marks for silence."""
    return tuple(word for word in words if word.isalpha())


def _symbols(graph: bytes) -> list[str]:
    """The longest symbol table in a file of OpenFst: words, each with its number.

    Each table: the number above, its name, two numbers (int64: next free, how many), and for each
    symbol its length (int32), its bytes and its number (int64).
    """
    longest: list[str] = []
    at = graph.find(_SYMBOL_TABLE)
    while at >= 0:
        words, end = _table(graph, at + len(_SYMBOL_TABLE))
        longest = max(longest, words, key=len)
        at = graph.find(_SYMBOL_TABLE, end)
    return longest


def _table(graph: bytes, at: int) -> tuple[list[str], int]:
    _, at = _text(graph, at)
    _, many = struct.unpack_from("<qq", graph, at)
    at += 16
    words = []
    for _ in range(many):
        word, at = _text(graph, at)
        words.append(word)
        at += 8
    return words, at


def _text(graph: bytes, at: int) -> tuple[str, int]:
    (length,) = struct.unpack_from("<i", graph, at)
    return graph[at + 4 : at + 4 + length].decode("utf-8", "replace"), at + 4 + length
