"""The token list of a Moonshine model: words to token numbers and back."""

from functools import lru_cache
from itertools import pairwise
from pathlib import Path

from assistant.errors import BadInput

BEGIN, END = 1, 2
SPACE = "▁"  # how the token list writes the space before a word


class Tokenizer:
    """Byte-pair encoding by lowest token number, one word at a time.

    No piece of the list spans two words, so a sentence's tokens are its words' tokens in a row.
    """

    def __init__(self, path: Path) -> None:
        self._pieces = read_pieces(path)
        self._number_of = {piece: number for number, piece in enumerate(self._pieces) if piece}
        self.word = lru_cache(maxsize=4096)(self._word)

    def __len__(self) -> int:
        return len(self._pieces)

    def sentence(self, text: str) -> tuple[int, ...]:
        """The tokens of a whole sentence, without begin and end."""
        return tuple(token for word in text.split() for token in self.word(word))

    def knows(self, word: str) -> bool:
        """Whether pieces of the list spell the word, so that it need not go by bytes."""
        return all(sign.encode() in self._number_of for sign in word)

    def mark(self, sign: str) -> int:
        """The token of a punctuation mark that follows a word."""
        return self._number_of[sign.encode()]

    def text(self, tokens: tuple[int, ...]) -> str:
        """The sentence that the tokens spell; begin and end spell nothing."""
        spelt = b"".join(self._pieces[token] for token in tokens if token not in (BEGIN, END))
        return spelt.decode(errors="replace").replace(SPACE, " ").strip()

    def _word(self, word: str) -> tuple[int, ...]:
        """The tokens of one word with the space before it; what no piece spells goes by bytes."""
        pieces = [sign.encode() for sign in SPACE + word]
        while len(pieces) > 1:
            joined = [
                (self._number_of.get(left + right), place)
                for place, (left, right) in enumerate(pairwise(pieces))
            ]
            known = [(number, place) for number, place in joined if number is not None]
            if not known:
                break
            _, place = min(known)
            pieces[place : place + 2] = [pieces[place] + pieces[place + 1]]
        return tuple(number for piece in pieces for number in self._numbers(piece))

    def _numbers(self, piece: bytes) -> tuple[int, ...]:
        number = self._number_of.get(piece)
        if number is not None:
            return (number,)
        return tuple(self._number_of[bytes([byte])] for byte in piece)


def read_pieces(path: Path) -> tuple[bytes, ...]:
    """Read the length-prefixed byte strings; a length of 128 or more takes two bytes.

    Raises BadInput when the file is absent or ends in the middle of a piece.
    """
    try:
        content = path.read_bytes()
    except OSError as fault:
        raise BadInput.in_file(
            path, found="no such file", allowed="the model's token list"
        ) from fault
    pieces = []
    at = 0
    try:
        while at < len(content):
            length = content[at]
            at += 1
            if length >= 128:
                length += 128 * content[at] - 128
                at += 1
            pieces.append(content[at : at + length])
            at += length
    except IndexError:
        at = len(content) + 1
    if at != len(content):
        raise BadInput.in_file(path, found="a list that breaks off", allowed="the whole file")
    return tuple(pieces)
