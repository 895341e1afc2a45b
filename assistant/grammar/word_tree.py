"""The phrases of a grammar as a tree of words.

A slot is a branch into the tree of its fillers and, at a filler's end, back again: a phrase with a
drug and a weight is never written out in its thousands of forms.
"""

import re
from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, field
from functools import lru_cache

from assistant.grammar.grammar import SLOT, Filler, Grammar, Pattern, Value

_ELEMENT = re.compile(r"\{\w+\}|[^\s{}]+")


@dataclass(slots=True, eq=False)
class Node:
    """A place between two words; each is itself only."""

    words: dict[str, "Node"] = field(default_factory=dict)
    slots: dict[str, "Node"] = field(default_factory=dict)
    patterns: list[Pattern] = field(default_factory=list)
    """Complete here."""
    fillers: list[Filler] = field(default_factory=list)
    """Complete here, in the tree of one slot."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a phrase has come to; inside a slot, also the slot and the node after it."""

    node: Node
    filled: tuple[tuple[str, Filler], ...] = ()
    slot: str = ""
    back: Node | None = None


@dataclass(frozen=True, slots=True)
class Phrase:
    """A whole phrase of the grammar, in the grammar's own words."""

    pattern: Pattern
    filled: tuple[tuple[str, Filler], ...]

    @property
    def words(self) -> str:
        """As it is said, its slots filled."""
        fillers = iter(self.filled)
        return SLOT.sub(lambda _: next(fillers)[1].words, self.pattern.words)

    @property
    def spellings(self) -> tuple[str, ...]:
        """The same in all ways in which it may be written, but for those of its fillers."""
        return (self.words, *self.pattern.respellings)

    @property
    def values(self) -> dict[str, Value]:
        """What its pattern and its fillers stand for."""
        return {**self.pattern.values, **{slot: filler.value for slot, filler in self.filled}}


class WordTree:
    """All phrases that may be said now, respellings included."""

    def __init__(self, grammar: Grammar) -> None:
        self._root = Node()
        for pattern in grammar.patterns:
            for spelling in dict.fromkeys((pattern.words, *pattern.respellings)):
                _grow(self._root, spelling).patterns.append(pattern)
        self._slots = {slot: _slot_tree(fillers) for slot, fillers in grammar.fillers.items()}

    @property
    def start(self) -> Place:
        """Before the first word."""
        return Place(self._root)

    def words_from(self, start: Place) -> Iterator[tuple[str, Place]]:
        """Each word that may be said next, with the place to which it leads."""
        for place in _after_filler(start):
            for word, node in place.node.words.items():
                yield word, Place(node, place.filled, place.slot, place.back)
            for slot, back in place.node.slots.items():
                for word, node in self._slots[slot].words.items():
                    yield word, Place(node, place.filled, slot, back)

    @staticmethod
    def complete(at: Place) -> Iterator[Phrase]:
        """The phrases that end here."""
        for place in _after_filler(at):
            for pattern in place.node.patterns:
                yield Phrase(pattern, place.filled)

    def match(self, words: Sequence[str]) -> list[Phrase]:
        """The phrases that are said by exactly these words, from the first to the last."""
        return [phrase for place in self._places(words) for phrase in self.complete(place)]

    def goes_on(self, words: Sequence[str]) -> bool:
        """Whether more may be said after exactly these words."""
        return any(True for place in self._places(words) for _ in self.words_from(place))

    def leads_elsewhere(self, words: Sequence[str]) -> bool:
        """Whether more may be said after exactly these words that makes another thing of them.

        "Drawn up" may become "drawn up and labelled", which is the same answer; "what is left" may
        become "what is left in the bottle", "seventy" may become "seventy five". Words that are no
        phrase yet lead to one, and so does what has several meanings.
        """
        meanings = {phrase.pattern.meaning for phrase in self.match(words)}
        if len(meanings) != 1:
            return True
        places = self._places(words)
        if any(place.back is not None and place.node.words for place in places):
            return True  # a longer number, or another name
        ends = [end for place in places for end in _after_filler(place) if end.back is None]
        return any(_becomes_another(end.node, meanings) for end in ends)

    def _places(self, words: Sequence[str]) -> list[Place]:
        places = [self.start]
        for word in words:
            places = [to for at in places for to in self._after(at, word)]
        return places

    def _after(self, start: Place, word: str) -> Iterator[Place]:
        """Where that word leads."""
        for place in _after_filler(start):
            node = place.node.words.get(word)
            if node is not None:
                yield Place(node, place.filled, place.slot, place.back)
            for slot, back in place.node.slots.items():
                node = self._slots[slot].words.get(word)
                if node is not None:
                    yield Place(node, place.filled, slot, back)


def _becomes_another(node: Node, meanings: Set[str]) -> bool:
    """Whether a phrase of another meaning, or one with another slot, goes on from this node."""
    if node.slots:
        return True
    return any(
        any(pattern.meaning not in meanings for pattern in after.patterns)
        or _becomes_another(after, meanings)
        for after in node.words.values()
    )


def _after_filler(place: Place) -> Iterator[Place]:
    """The place itself and, where a filler is complete, the places behind its slot."""
    yield place
    if place.back is not None:
        for filler in place.node.fillers:
            yield Place(place.back, (*place.filled, (place.slot, filler)))


def _grow(root: Node, words: str) -> Node:
    node = root
    for element in _ELEMENT.findall(words):
        slot = SLOT.fullmatch(element)
        if slot is None:
            node = node.words.setdefault(element, Node())
        else:
            node = node.slots.setdefault(slot[1], Node())
    return node


@lru_cache(maxsize=32)
def _slot_tree(fillers: tuple[Filler, ...]) -> Node:
    root = Node()
    for filler in fillers:
        for spelling in dict.fromkeys((filler.words, *filler.respellings)):
            _grow(root, spelling).fillers.append(filler)
    return root
