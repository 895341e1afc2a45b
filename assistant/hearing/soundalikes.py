"""Phrases that sound alike: told by their phonemes, before anybody has to tell them apart."""

import hashlib
import shutil
import subprocess
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from assistant.files.cache import cached, keep_more, kept

ALIKE_BELOW = 0.26
"""Of the sounds of the longer phrase. "Fifteen" and "fifty" differ by 0.17, "adrenaline" and
"noradrenaline" by 0.25; "confirmed" and "not confirmed" by 0.3, and are told apart by the engine
(docs/hearing.md)."""
_DEADLINE_S = 20.0

# Sounds that noise and short words make of one another: voiced and voiceless pairs, the nasals,
# vowels near each other (the chart of the International Phonetic Association).
_FAMILIES = (
    "bp",
    "dtɾ",
    "gkɡ",  # noqa: RUF001
    "vf",
    "zs",
    "ʒʃ",
    "ðθ",
    "mnŋ",
    "ɹrɚɜ",
    "iɪᵻ",  # noqa: RUF001
    "eɛæ",
    "ɑɒɔʌɐəa",  # noqa: RUF001
    "uʊo",
)
_FIRSTS = str.maketrans({sound: family[0] for family in _FAMILIES for sound in family})
_NOT_SOUNDS = str.maketrans("", "", "ˈˌː͡ ")


@dataclass(frozen=True, slots=True)
class Alike:
    """Two phrases of different meanings and how far their sounds differ: 0 … 1."""

    one: str
    other: str
    differ: float


def phonemes(phrases: Iterable[str], voice: str = "en-us") -> dict[str, str]:
    """How espeak-ng pronounces each phrase, in the signs of the IPA.

    Raises OSError when espeak-ng is not installed or does not answer.
    """
    known = _pronounced(voice)
    wanted = dict.fromkeys(phrases)
    unknown = tuple(phrase for phrase in wanted if phrase not in known)
    if unknown:
        known.update(_phonemes(unknown, voice))
        keep_more(_kept_in(voice), known)
    return {phrase: known[phrase] for phrase in wanted}


@lru_cache(maxsize=8)
def _pronounced(voice: str) -> dict[str, str]:
    """What that voice was asked for so far: each phrase once, as a thousand take half a second."""
    return kept(_kept_in(voice))


def _kept_in(voice: str) -> Path:
    """The file of what this espeak-ng says by that voice; another may pronounce it otherwise."""
    digest = hashlib.sha256(f"{_version()}\n{voice}".encode()).hexdigest()
    return cached("phonemes", f"{digest}.json")


@cache
def _version() -> str:
    return _told_by("--version")


def _phonemes(asked: tuple[str, ...], voice: str) -> Mapping[str, str]:
    # Each a sentence by itself.
    told = _told_by("-q", "--ipa", "-v", voice, said="".join(f"{one}.\n\n" for one in asked))
    sounds = [line.strip() for line in told.splitlines() if line.strip()]
    if len(sounds) != len(asked):
        raise OSError(f"espeak-ng gave {len(sounds)} pronunciations for {len(asked)} phrases")
    return dict(zip(asked, sounds, strict=True))


def _told_by(*options: str, said: str = "") -> str:
    espeak = shutil.which("espeak-ng")
    if espeak is None:
        raise FileNotFoundError("espeak-ng is not installed")
    try:
        return subprocess.run(
            [espeak, *options],
            input=said,
            capture_output=True,
            text=True,
            timeout=_DEADLINE_S,
            check=True,
        ).stdout
    except subprocess.SubprocessError as fault:
        raise OSError(f"espeak-ng did not answer: {fault}") from fault


def unlikeness(one: str, other: str) -> float:
    """How far two pronunciations differ, 0 … 1: the share of sounds to change, add or drop.

    Sounds of one family count half: the mean of the distance by sound and that by family.
    """
    one, other = plain_sounds(one), plain_sounds(other)
    by_sound = Levenshtein.normalized_distance(one, other)
    by_family = Levenshtein.normalized_distance(families(one), families(other))
    return round((by_sound + by_family) / 2, 3)


def plain_sounds(sounds: str) -> str:
    """A pronunciation without stress, length and pauses: one sign, one sound."""
    return sounds.translate(_NOT_SOUNDS)


def alike(phrases: Sequence[tuple[str, str]], sounds: Mapping[str, str]) -> list[Alike]:
    """The pairs of (phrase, meaning) that mean different things and sound alike, worst first."""
    plain = [plain_sounds(sounds[words]) for words, _ in phrases]
    differ = (_distances(plain) + _distances([families(one) for one in plain])) / 2
    found = [
        Alike(phrases[at][0], phrases[to][0], round(float(differ[at, to]), 3))
        for at, to in np.argwhere(np.triu(differ < ALIKE_BELOW, k=1))
        if phrases[at][1] != phrases[to][1] and phrases[at][0] != phrases[to][0]
    ]
    return sorted(found, key=lambda pair: pair.differ)


def _distances(sounds: Sequence[str]) -> NDArray[np.float64]:
    """The share of sounds to change between each two, shape (n, n)."""
    scorer = Levenshtein.normalized_distance
    # Of a list with itself it goes another way, which takes twice as long.
    return np.asarray(process.cdist(sounds, list(sounds), scorer=scorer, dtype=np.float64))


def families(sounds: str) -> str:
    """The same with each sound as the first of its family."""
    return sounds.translate(_FIRSTS)
