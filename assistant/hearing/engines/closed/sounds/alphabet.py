"""The sounds of English, and which signs of the model stand for each."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

# ruff: noqa: RUF001 - the signs of the International Phonetic Alphabet

_NEAR = 0.7
"""How much a sign counts that stands for a sound near by, or is how another accent says it."""
_SIGNS = {
    "ɑ": "ɑ ɒ ɔ a ä",
    "ɔ": "ɔ ɑ ɒ oʊ o",
    "æ": "æ a ɛ",
    "ʌ": "ʌ ə ɐ ɑ",
    "ə": "ə ʌ ɪ ɐ ɛ ɨ ɚ ɝ",
    "ɛ": "ɛ e æ eə",
    "e": "ɛ e eɪ",
    "ɪ": "ɪ i ɨ ə ɪə",
    "i": "i ɪ ɪə",
    "u": "u ʊ ʉ ju",
    "ʊ": "ʊ u ə ʌ ʉ",
    "ɜ": "ɝ ɚ ɜ ə",
    "eɪ": "eɪ e ɛ",
    "aɪ": "aɪ",
    "ɔɪ": "ɔɪ",
    "aʊ": "aʊ",
    "oʊ": "oʊ o ɔ",
    "p": "p pʰ p͈ b",
    "t": "t tʰ t͈ ɾ d",
    "k": "k kʰ k͈ ɡ g",
    "b": "b p ɓ",
    "d": "d t ɾ ɖ ɗ",
    "ɡ": "ɡ g k k͈",
    "f": "f ɸ v",
    "v": "v f ʋ β",
    "θ": "θ t f ð",
    "ð": "ð d θ",
    "s": "s s͈ z",
    "z": "z s",
    "ʃ": "ʃ ɕ ʂ",
    "ʒ": "ʒ ʃ ʑ",
    "tʃ": "t͡ʃ t͡ɕ t͡ɕʰ t͡ɕ͈",
    "dʒ": "d͡ʒ t͡ɕ ʒ",
    "m": "m",
    "n": "n",
    "ŋ": "ŋ n",
    "l": "l ɫ",
    "ɹ": "ɹ r ɾ ɻ ʁ",
    "w": "w ʋ",
    "j": "j ɟ ʝ ͡ ju",
    "h": "h ɦ x",
}
"""By the sign of espeak-ng: the model's own for it, and those that are near."""
_ALSO = {
    "əʊ": "oʊ",
    "ɐ": "ʌ",
    "ᵻ": "ɪ",
    "ɚ": "ɜ",
    "ɝ": "ɜ",
    "a": "æ",
    "ɒ": "ɑ",
    "o": "oʊ",
    "r": "ɹ",
    "ɾ": "t",
    "g": "ɡ",
    "x": "k",
    "ʔ": "t",
}
"""Signs of espeak-ng for what the list has under another."""
_OF_TWO = ("eɪ", "aɪ", "ɔɪ", "aʊ", "oʊ", "əʊ", "tʃ", "dʒ")
_NOT_SOUNDS = str.maketrans("", "", "ˈˌː̩͡ \n-")
_SILENT = ("<blank>", "<wb>")
_NUMBER = {sign: number for number, sign in enumerate(_SIGNS)}

COUNT = len(_SIGNS)
"""So many sounds there are; the number after the last stands for none of them."""

Sounds = tuple[int, ...]


def sounds_of(pronunciation: str) -> Sounds:
    """A pronunciation of espeak-ng, in IPA, as the numbers of its sounds.

    A sign that is none of English is left out.
    """
    signs = pronunciation.translate(_NOT_SOUNDS)
    found, at = [], 0
    while at < len(signs):
        wide = 2 if signs[at : at + 2] in _OF_TWO else 1
        sign = signs[at : at + wide]
        number = _NUMBER.get(_ALSO.get(sign, sign))
        if number is not None:
            found.append(number)
        at += wide
    return tuple(found)


def shares(signs: Sequence[str]) -> npt.NDArray[np.float32]:
    """How much each of the model's signs counts for each sound: shape (signs, COUNT + 1).

    In the last column what stands for no sound.
    """
    table = np.zeros((len(signs), COUNT + 1), np.float32)
    place = {sign: number for number, sign in enumerate(signs)}
    for sound, (own, *near) in enumerate(listed.split() for listed in _SIGNS.values()):
        table[[place[sign] for sign in near], sound] = _NEAR
        table[place[own], sound] = 1.0
    table[[place[sign] for sign in _SILENT], COUNT] = 1.0
    return table
