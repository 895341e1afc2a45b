"""The phrases that may be said now, spelt token by token.

The same tokens may be the beginning of several phrases; a `Prefix` holds them all, so that nothing
is scored twice.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from assistant.grammar.grammar import Grammar
from assistant.grammar.word_tree import Phrase, Place, WordTree
from assistant.hearing.engines.closed.tokenizer import Tokenizer

Tokens = tuple[int, ...]
Prefix = tuple["SpeltWord", ...]
"""All that the tokens read so far may be the beginning of."""

# The model writes as a book would; which mark it puts after a word means nothing here.
_MARKS = (".", ",", "?", "!")
_REMEMBERED = 1024  # places in the tree whose openings are kept


@dataclass(frozen=True, slots=True)
class SpeltWord:
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
        # A slot for a number opens with hundreds of words, and is come to again and again.
        self._spelt_from = lru_cache(maxsize=_REMEMBERED)(self._spell_from)
        self._after_word = lru_cache(maxsize=_REMEMBERED)(self._marked_from)

    def openings(self) -> Mapping[int, Prefix]:
        """The first tokens of all phrases, each with all that it may begin."""
        return self._spelt_from(self._words.start)

    def next(self, prefix: Prefix) -> Mapping[int, Prefix]:
        """Each token that may follow the prefix, with the longer prefix."""
        if len(prefix) == 1:
            return self._after(prefix[0])
        return _together(self._after(step) for step in prefix)

    def complete(self, prefix: Prefix) -> Iterator[Phrase]:
        """The phrases that the prefix spells to their end."""
        for step in prefix:
            if step.read == len(step.tokens):
                yield from self._words.complete(step.to)

    def _after(self, step: SpeltWord) -> Mapping[int, Prefix]:
        if step.read < len(step.tokens):
            longer = SpeltWord(step.tokens, step.to, step.read + 1, step.is_mark)
            return {step.tokens[step.read]: (longer,)}
        return self._spelt_from(step.to) if step.is_mark else self._after_word(step.to)

    def _marked_from(self, start: Place) -> Mapping[int, Prefix]:
        marks = {mark[0]: (SpeltWord(mark, start, is_mark=True),) for mark in self._marks}
        return _together((self._spelt_from(start), marks))

    def _spell_from(self, start: Place) -> Mapping[int, Prefix]:
        spelt: dict[int, list[SpeltWord]] = defaultdict(list)
        for word, to in self._words.words_from(start):
            for spelling in dict.fromkeys((word, word[:1].upper() + word[1:])):
                tokens = self._tokenizer.word(spelling)
                spelt[tokens[0]].append(SpeltWord(tokens, to))
        return {token: tuple(alike) for token, alike in spelt.items()}


def _together(groups: Iterable[Mapping[int, Prefix]]) -> Mapping[int, Prefix]:
    joined: dict[int, Prefix] = {}
    for group in groups:
        for token, prefix in group.items():
            joined[token] = (*joined.get(token, ()), *prefix)
    return joined
