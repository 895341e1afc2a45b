"""Phrases that mean two things where both may be said, by the grammar of every state."""

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.brief.decisions import SiteDecisions
from assistant.brief.items import AnyItem
from assistant.brief.states import DIGITS, STATES, State
from assistant.grammar.grammar import SLOT, Pattern
from assistant.language.numbers_in_text import with_one_number
from assistant.language.tongue import Language
from assistant.phrasebook.item_answers import is_unheard
from assistant.phrasebook.phrasebook import Phrasebook


@dataclass(frozen=True, slots=True)
class Sense:
    """One thing that a phrase stands for."""

    meaning: str
    values: tuple[tuple[str, str], ...] = ()
    """Which option, role, drug or thing."""

    def __str__(self) -> str:
        return " ".join((self.meaning.replace("_", " "), *(value for _, value in self.values)))


@dataclass(frozen=True, slots=True)
class DoubleMeaning:
    """A phrase with two senses that may both be meant in one state."""

    said: str
    """With 0 for a number."""
    one: Sense
    other: Sense
    other_phrase: str
    """As the site has it, its slots in braces."""
    state: State
    item: AnyItem | None


def double_meanings(site: SiteDecisions) -> Iterator[DoubleMeaning]:
    """Each phrase with two senses, once for each two."""
    book, forms = Phrasebook(site), _Forms(site)
    told: set[tuple[str, frozenset[Sense]]] = set()
    for state, row in STATES.items():
        always: _Said = {}
        groups: list[tuple[AnyItem | None, list[Pattern]]] = [
            (None, book.patterns(state, None, digits=DIGITS in row.hears)),
            *((item, book.answers(state, item)) for item in site.brief.items()),
        ]
        for item, patterns in groups:
            said = always if item is None else {}
            for pattern in patterns:
                for form, sense in forms.of(pattern, book):
                    for one in form.looked_for:
                        known = always.get(one) or said.get(one)
                        if known is None or not _differ(known, sense):
                            continue
                        if item is not None and is_unheard(pattern.words, known.meaning, item):
                            continue
                        both = form.said, frozenset((sense, known))
                        if both not in told:
                            told.add(both)
                            yield DoubleMeaning(form.said, known, sense, pattern.words, state, item)
                    for one in form.known_as:
                        said.setdefault(one, sense)


_Said = dict[str, Sense]
"""What each form means."""
_NOES = {"decline", "denied"}
"""An item that can be denied takes its own words for that, and they may be a plain no."""


def _differ(one: Sense, other: Sense) -> bool:
    return one is not other and one != other and {one.meaning, other.meaning} != _NOES


@dataclass(frozen=True, slots=True)
class _Form:
    """One way to say a pattern."""

    said: str
    looked_for: tuple[str, ...]
    """What it is the same as, if that is said too."""
    known_as: tuple[str, ...]


def _form(words: str, language: Language, *, any_number: bool) -> _Form:
    """ "Two seconds" is the same as any number of them, and not as six seconds."""
    numbered = with_one_number(words, language)
    if any_number:
        return _Form(numbered, (numbered, f"literally {numbered}"), (numbered,))
    return _Form(words, (words, numbered), (words, f"literally {numbered}"))


class _Forms:
    """All that a pattern may be said as, each number as one sign; worked out once a pattern."""

    def __init__(self, site: SiteDecisions) -> None:
        self._language = site.wording.language
        self._of_numbers: dict[str, bool] = {}
        """Of each slot, whether only numbers stand in it."""
        self._of_slot: dict[str, tuple[tuple[str, tuple[tuple[str, str], ...]], ...]] = {}
        self._of_pattern: dict[tuple[object, ...], tuple[tuple[_Form, Sense], ...]] = {}

    def of(self, pattern: Pattern, book: Phrasebook) -> tuple[tuple[_Form, Sense], ...]:
        """Each form with what it means."""
        values = tuple((name, str(value)) for name, value in sorted(pattern.values.items()))
        key = pattern.words, pattern.meaning, values
        if key not in self._of_pattern:
            filled = self._filled(pattern.words, values, book)
            number = any(self._is_number(slot, book) for slot in SLOT.findall(pattern.words))
            forms = (
                (_form(said, self._language, any_number=number), Sense(pattern.meaning, of))
                for said, of in filled
            )
            self._of_pattern[key] = tuple(dict.fromkeys(forms))
        return self._of_pattern[key]

    def _filled(
        self, words: str, values: tuple[tuple[str, str], ...], book: Phrasebook
    ) -> Iterator[tuple[str, tuple[tuple[str, str], ...]]]:
        slot = SLOT.search(words)
        if slot is None:
            yield words, values
            return
        for said, value in self._fillers(slot[1], book):
            filled = words[: slot.start()] + said + words[slot.end() :]
            yield from self._filled(filled, (*values, *value), book)

    def _fillers(
        self, slot: str, book: Phrasebook
    ) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
        if slot not in self._of_slot:
            fillers = book.fillers(slot)
            if self._is_number(slot, book):
                # Which number it is makes no other meaning of the phrase.
                some = fillers[:: max(1, len(fillers) // 20)]
                self._of_slot[slot] = tuple({(self._plain(one.words), ()): 0 for one in some})
            else:
                self._of_slot[slot] = tuple(
                    (one.words, ((slot, str(one.value)),)) for one in fillers
                )
        return self._of_slot[slot]

    def _is_number(self, slot: str, book: Phrasebook) -> bool:
        if slot not in self._of_numbers:
            fillers = book.fillers(slot)
            self._of_numbers[slot] = all(isinstance(one.value, float) for one in fillers)
        return self._of_numbers[slot]

    def _plain(self, words: str) -> str:
        return with_one_number(words, self._language)
