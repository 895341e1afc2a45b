"""What may be said now: the site's phrases, narrowed to the state of the case."""

from collections.abc import Iterable, Iterator
from functools import lru_cache

from assistant.brief.case import Case
from assistant.brief.items import AnyItem, ChooseItem, NameItem, NumberItem, Option
from assistant.brief.steps import State
from assistant.dosing.formulary import Drug
from assistant.hearing.grammar import Danger, Filler, Grammar, Pattern
from assistant.meaning.numbers import number_fillers
from assistant.site.site import Site

ANSWER = "answer"
"""Stands in `ALLOWED` for the answers to the item that is being asked."""

_ALWAYS = ("repeat", "hold", "stop", "end_case")
ALLOWED: dict[State, tuple[str, ...]] = {
    State.OPENED: ("start", "dose", "go_now", *_ALWAYS),
    State.ASKING: (ANSWER, "why", "back", "left", "go_now", "dose", *_ALWAYS),
    State.CHECKING: (ANSWER, "confirm", "decline", "back", "go_now", "dose", *_ALWAYS),
    State.QUOTING: ("confirm", "decline", "dose", "go_now", *_ALWAYS),
    State.HELD: ("resume", "go_now", "end_case"),
    State.CLOSING: ("confirm", "decline", "repeat"),
    State.READY: ("start", "attempt_start", "drugs_in", "left", "dose", "back", *_ALWAYS),
    State.ATTEMPTING: ("attempt_failed", "tube_in", "drugs_in", "dose", *_ALWAYS),
    State.ENDED: (),
}
"""The meanings that make sense in each state; nothing else is listened for."""

_DANGER = {
    "confirm": Danger.HIGH,
    "number": Danger.HIGH,
    "dose": Danger.HIGH,
    "end_case": Danger.HIGH,
    "go_now": Danger.HIGH,
    "attempt_start": Danger.HIGH,
    "attempt_failed": Danger.HIGH,
    "tube_in": Danger.HIGH,
    "drugs_in": Danger.HIGH,
    "repeat": Danger.LOW,
    "why": Danger.LOW,
    "left": Danger.LOW,
}

_ANSWERS_BY_KIND = {
    "confirm": ("confirm", "decline"),
    "timed": ("confirm", "decline"),
    "plan": ("confirm", "decline"),
    "number": ("number", "decline"),
    "choose": ("choose", "decline"),
    "name": ("name", "decline"),
}


def makes_sense(case: Case, meaning: str) -> bool:
    """Whether that meaning is an answer or a command in the present state of the case."""
    allowed = ALLOWED[case.state]
    answers = _ANSWERS_BY_KIND[case.current.kind] if case.current is not None else ()
    return meaning in allowed or (ANSWER in allowed and meaning in answers)


class Phrasebook:
    """Builds the grammar of each state once, from the site's brief, formulary and wording."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._built: dict[tuple[State, str | None], Grammar] = {}
        self._decoys = tuple(self._not_now())

    def now(self, case: Case) -> Grammar:
        """What may be said in this case now; the same object for the same state and item."""
        item = case.current
        key = (case.state, None if item is None else item.id)
        if key not in self._built:
            self._built[key] = self._grammar(
                self._patterns(ALLOWED[case.state], item), self._numbers(item)
            )
        return self._built[key]

    def when_asking(self, kind: str) -> Grammar:
        """What may be said while an item of that kind is asked, whichever item it is.

        `number` takes any whole number from 0 to 300, `question` only questions, `anything`
        everything that the site ever listens for.
        """
        items = [item for item in self._site.brief.items() if item.kind == kind]
        numbers = (0, 300)
        if kind == "question":
            return self._grammar(self._patterns(("dose", "why", "left", "repeat"), None), numbers)
        if kind == "number":
            patterns = [*self._say("number", unit_said=self._units()), *self._say("decline")]
            return self._grammar(patterns, numbers)
        allowed: Iterable[str] = ALLOWED[State.ASKING]
        if kind == "anything":
            items = list(self._site.brief.items())
            allowed = dict.fromkeys(name for names in ALLOWED.values() for name in names)
        patterns = [
            pattern for item in items for pattern in self._patterns((ANSWER,), item)
        ] + self._patterns([name for name in allowed if name != ANSWER], None)
        return self._grammar(patterns, numbers)

    def _grammar(self, patterns: Iterable[Pattern], numbers: tuple[int, int]) -> Grammar:
        # One phrase may answer several items of a kind; it is listened for once.
        by_words = {pattern.words: pattern for pattern in (*self._decoys, *patterns)}
        formulary = self._site.formulary
        return Grammar(
            tuple(by_words.values()),
            {
                "number": _numbers_between(*numbers),
                "weight_kg": _numbers_between(
                    formulary.adults.weight_kg.low, formulary.adults.weight_kg.high
                ),
                "drug": tuple(self._drug_names()),
            },
        )

    def _patterns(self, allowed: Iterable[str], item: AnyItem | None) -> list[Pattern]:
        found: list[Pattern] = []
        for meaning in allowed:
            if meaning == ANSWER:
                found += [] if item is None else self._answers(item)
            else:
                found += self._say(meaning)
        return found

    def _answers(self, item: AnyItem) -> Iterator[Pattern]:
        for meaning in _ANSWERS_BY_KIND[item.kind]:
            if isinstance(item, NumberItem) and meaning == "number":
                yield from self._say("number", unit_said=item.unit_said)
            elif isinstance(item, ChooseItem) and meaning == "choose":
                yield from _options(meaning, item.options)
            elif isinstance(item, NameItem) and meaning == "name":
                yield from _options(meaning, self._site.brief.roster)
            else:
                yield from self._say(meaning)
        for words in getattr(item, "confirmations", ()):
            yield Pattern(words, "confirm", danger=Danger.HIGH)

    def _say(self, meaning: str, unit_said: Iterable[str] = ()) -> Iterator[Pattern]:
        danger = _DANGER.get(meaning, Danger.USUAL)
        for phrase in getattr(self._site.wording.may_be_said, meaning):
            units = unit_said if "{unit}" in phrase else ("",)
            for unit in units:
                yield Pattern(phrase.replace("{unit}", unit), meaning, danger=danger)

    def _numbers(self, item: AnyItem | None) -> tuple[int, int]:
        return (item.low, item.high) if isinstance(item, NumberItem) else (0, 300)

    def _units(self) -> tuple[str, ...]:
        items = self._site.brief.items()
        units = (unit for item in items if isinstance(item, NumberItem) for unit in item.unit_said)
        return tuple(dict.fromkeys(units))

    def _not_now(self) -> Iterator[Pattern]:
        """What is said in this room but means nothing now; the grammar of a state overrides it.

        A command or a confirmation out of place would otherwise be taken for whatever sounds most
        like it among the few phrases that make sense.
        """
        said = self._site.wording.may_be_said
        phrases = [*said.room_talk]
        for meaning in dict.fromkeys(name for names in ALLOWED.values() for name in names):
            phrases += [words for words in getattr(said, meaning, ()) if "{" not in words]
        for item in self._site.brief.items():
            phrases += getattr(item, "confirmations", ())
        for words in phrases:
            yield Pattern(words, "not_now", for_me=False)

    def _drug_names(self) -> Iterator[Filler]:
        for drug in self._site.formulary.drugs:
            yield from _names_of(drug)


@lru_cache(maxsize=8)
def _numbers_between(low: int, high: int) -> tuple[Filler, ...]:
    return tuple(number_fillers(low, high))


def _names_of(drug: Drug) -> Iterator[Filler]:
    for words in dict.fromkeys(drug.names()):
        yield Filler(words, drug.id, drug.respellings)


def _options(meaning: str, options: Iterable[Option]) -> Iterator[Pattern]:
    for option in options:
        for words in option.said:
            yield Pattern(words, meaning, {meaning: option.id})
