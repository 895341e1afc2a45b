"""What people say around a phrase without meaning anything else by it: the assistant's name, and
around an answer "um, yes", "yep, both working", "not yet, sorry"."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace

from assistant.brief.states import ANY_TIME
from assistant.grammar.grammar import Danger, Pattern
from assistant.speaking.may_be_said import MayBeSaid

_DENIED = ("feature_denied", "allergy_denied")
_VALUES = ("number", "choose", "name")


def addressed(
    patterns: Iterable[Pattern], names: Sequence[str], *, answered: bool
) -> Iterator[Pattern]:
    """What may be asked at any time, with the assistant's name before it, where it has one."""
    for pattern in patterns:
        may_be_called = pattern.meaning in ANY_TIME
        if answered or not may_be_called or not names:
            yield pattern
        for name in names if may_be_called else ():
            yield replace(pattern, words=f"{name} {pattern.words}")


def answers_in_more_words(
    patterns: Iterable[Pattern], said: MayBeSaid, taken: Collection[str]
) -> Iterator[Pattern]:
    """The answers among these patterns with one thing more before or after them.

    A number that settles its item is read back then: of "not thirty degrees" the ear may make "yes
    thirty degrees". `taken`: words that mean something already, as they stand; those are left out.
    """
    firsts = {*said.yes_first, *said.no_first}
    for one in patterns:
        first, last = _around(one, said)
        begun = one.words.split(maxsplit=1)[0] in firsts
        # Nobody says "yes, no"; people say "yes, yes", but of a "no, no" noise makes too much.
        twice = one.words if one.words in said.yes_first else None
        first = [word for word in first if not begun or word not in firsts or word == twice]
        longer = [f"{word} {one.words}" for word in first]
        longer += [f"{one.words} {word}" for word in last]
        asked_back = one.is_asked_back or one.danger is Danger.SETTING
        for words in longer:
            if words not in taken:
                yield replace(one, words=words, is_longer=True, is_asked_back=asked_back)


def _around(one: Pattern, said: MayBeSaid) -> tuple[Sequence[str], Sequence[str]]:
    """What may stand before that pattern, and what after it."""
    if one.meaning in _VALUES:
        of_a_name = () if one.meaning == "number" else said.yes_last
        return (*said.yes_first, *said.hesitations), of_a_name
    if one.danger is Danger.PLAIN:  # "yes, thanks" is said to whoever hands something over
        last = () if one.only_yes else said.yes_last
        return (*said.yes_first, *said.hesitations), last
    if one.meaning == "decline" and one.words not in said.takes_back:
        return (*said.no_first, *said.hesitations), said.no_last
    if one.meaning in _DENIED:
        return said.no_first, ()
    return (), ()
