"""The phrases that may be said now, spelt token by token.

The same tokens may be the beginning of several phrases; a `Prefix` holds them all, so that nothing
is scored twice.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.hearing.engines.phrases import Phrase, Place, WordTree
from assistant.hearing.engines.tokenizer import Tokenizer
from assistant.hearing.grammar import Grammar

Tokens = tuple[int, ...]
Prefix = tuple["Step", ...]
"""All that the tokens read so far may be the beginning of."""

# The model writes as a book would; which mark it puts after a word means nothing here.
_MARKS = (".", ",", "?", "!")


@dataclass(frozen=True, slots=True)
class Step:
    """A word or a mark that is being spelt, and where it leads."""

    tokens: Tokens
    to: Place
    read: int = 1
    is_mark: bool = False


class PhraseTree:
    """A grammar's tree of words, walked by the tokens of a model."""

    def __init__(self, grammar: Grammar, tokenizer: Tokenizer) -> None:
        self._tokenizer = tokenizer
        self._marks = tuple((tokenizer.mark(sign),) for sign in _MARKS)
        self._words = WordTree(grammar)

    def openings(self) -> dict[int, Prefix]:
        """The first tokens of all phrases, each with all that it may begin."""
        return _by_token((step.tokens[0], step) for step in self._spelt_from(self._words.start))

    def next(self, prefix: Prefix) -> dict[int, Prefix]:
        """Each token that may follow the prefix, with the longer prefix."""
        return _by_token(longer for step in prefix for longer in self._after(step))

    def complete(self, prefix: Prefix) -> Iterator[Phrase]:
        """The phrases that the prefix spells to their end."""
        for step in prefix:
            if step.read == len(step.tokens):
                yield from self._words.complete(step.to)

    def _after(self, step: Step) -> Iterator[tuple[int, Step]]:
        if step.read < len(step.tokens):
            longer = Step(step.tokens, step.to, step.read + 1, step.is_mark)
            yield step.tokens[step.read], longer
            return
        for word in self._spelt_from(step.to):
            yield word.tokens[0], word
        if not step.is_mark:
            for mark in self._marks:
                yield mark[0], Step(mark, step.to, is_mark=True)

    def _spelt_from(self, start: Place) -> Iterator[Step]:
        for word, to in self._words.words_from(start):
            yield Step(self._tokenizer.word(word), to)
            capital = word[:1].upper() + word[1:]
            if capital != word:
                yield Step(self._tokenizer.word(capital), to)


def _by_token(steps: Iterable[tuple[int, Step]]) -> dict[int, Prefix]:
    grouped: dict[int, list[Step]] = defaultdict(list)
    for token, step in steps:
        grouped[token].append(step)
    return {token: tuple(alike) for token, alike in grouped.items()}
