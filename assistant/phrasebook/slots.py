"""What may stand in each slot of a site's phrases, one filler for each way of saying it."""

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from assistant.brief.decisions import SiteDecisions
from assistant.brief.valued_items import NameItem
from assistant.grammar.grammar import Filler
from assistant.language.tongue import Language, number_words

NUMBERS = (0, 300)
"""Any number that is asked for; what lies outside a site's range is heard, to be refused."""
_POUNDS = (60, 450)
_INCHES = (48, 90)
_METRES_CM = (100, 240)
_SYSTOLIC, _LOWER = (20, 300), (10, 200)
_BARS = (5, 230)
_LITRES = (1, 60)

Fillers = tuple[Filler, ...]


class Slots:
    """The fillers of a site, made once each."""

    def __init__(self, site: SiteDecisions) -> None:
        self._site = site
        self._named: dict[str, Fillers] = {
            "drug": tuple(self._drugs()),
            **dict.fromkeys(("allergen", "also_allergen"), tuple(self._allergens())),
            **dict.fromkeys(("feature", "also"), tuple(self._features())),
            "thing": tuple(
                Filler(words, one.id) for one in site.figures.sizes for words in one.said
            ),
            "cylinder": tuple(
                Filler(words, one.id) for one in site.figures.cylinders.kinds for words in one.said
            ),
            "task": tuple(self._tasks()),
        }

    def fillers(self, slot: str) -> Fillers:
        """Empty when the site has nothing for that slot. Raises KeyError for an unknown slot."""
        if slot in self._named:
            return self._named[slot]
        low, high = {
            "number": NUMBERS,
            "weight_kg": NUMBERS,
            "kilograms": NUMBERS,
            "centimetres": NUMBERS,
            "years": NUMBERS,
            "pounds": _POUNDS,
            "feet": _INCHES,
            "metres": _METRES_CM,
            "systolic": _SYSTOLIC,
            "lower": _LOWER,
            "bar": _BARS,
            "litres": _LITRES,
        }[slot]
        language = self._site.wording.language
        own = {"feet": _heights_between, "metres": _metres_between, "lower": _any_between}
        return own.get(slot, _numbers_between)(language, low, high)

    @property
    def tenths(self) -> Fillers:
        """What may stand for a number besides, where an item takes decimals."""
        return number_words(self._site.wording.language).decimal_fillers()

    def _features(self) -> Iterator[Filler]:
        for feature in self._site.brief.features:
            for words in feature.said:
                yield Filler(words, feature.id)

    def _allergens(self) -> Iterator[Filler]:
        for one in self._site.formulary.all_allergens():
            for words in one.said:
                yield Filler(words, one.id)

    def _tasks(self) -> Iterator[Filler]:
        """Each once: what several items ask for, as before each attempt, is one task."""
        items = [one for one in self._site.brief.items() if isinstance(one, NameItem)]
        for words, item_id in {one.label: one.id for one in items}.items():
            yield Filler(words, item_id)

    def _drugs(self) -> Iterator[Filler]:
        formulary = self._site.formulary
        for words, key, respellings in formulary.names():
            yield Filler(words, key, respellings)
        for absent in formulary.absent:
            yield Filler(absent.called, absent.called, absent.respellings)


@lru_cache(maxsize=8)
def _numbers_between(language: Language, low: int, high: int) -> Fillers:
    return number_words(language).number_fillers(low, high)


@lru_cache(maxsize=1)
def _any_between(language: Language, low: int, high: int) -> Fillers:
    """Which it is does not matter, and so one is no rival of another."""
    return tuple(replace(one, value=0) for one in _numbers_between(language, low, high))


@lru_cache(maxsize=1)
def _heights_between(language: Language, low: int, high: int) -> Fillers:
    return number_words(language).height_fillers(low, high)


@lru_cache(maxsize=1)
def _metres_between(language: Language, low: int, high: int) -> Fillers:
    return number_words(language).metre_fillers(low, high)
