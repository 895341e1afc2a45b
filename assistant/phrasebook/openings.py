"""What people begin a phrase with: the assistant's name, a yes, a no."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from assistant.brief.states import ANY_TIME
from assistant.grammar.grammar import Danger, Pattern
from assistant.speaking.may_be_said import MayBeSaid


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


def begun_with_a_yes_or_no(patterns: Sequence[Pattern], said: MayBeSaid) -> Iterator[Pattern]:
    """What tells of an item in its own words, begun with a yes; what denies it, with a no.

    A number that settles its item is read back then: of "not thirty degrees" the ear may make
    "yes thirty degrees".
    """
    usual = {*said.decline, *said.confirm}
    known = {one.words for one in patterns}
    for one in patterns:
        counts_at_once = one.danger is Danger.SETTING
        if counts_at_once or (one.danger is Danger.PLAIN and not one.only_yes):
            first = said.yes_first
        elif one.meaning == "decline" and one.words not in usual:
            first = said.no_first
        else:
            continue
        begun = one.words.split()[0] in (*said.yes_first, *said.no_first)
        for word in () if begun else first:
            if f"{word} {one.words}" not in known:
                led = replace(one, words=f"{word} {one.words}", is_led=True)
                yield replace(led, is_asked_back=True) if counts_at_once else led
