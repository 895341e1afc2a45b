"""By which words units are known, and figures are told apart, for checking what a site writes.

A language may lack a unit or a figure: then nothing is said of it.
"""

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Final

from assistant.language.numbers_in_text import with_one_number, words_of
from assistant.language.terms import Units
from assistant.language.tongue import Language, Tongue

Words = tuple[str, ...]

_ALIKE: Final[tuple[Words, ...]] = (
    ("kilogram", "pound", "stone", "gram", "milligram", "microgram"),
    ("litre", "millilitre"),
    ("metre", "centimetre", "millimetre", "inch", "foot"),
    ("second", "minute", "hour", "day", "week", "month", "year"),
    ("bar", "kilopascal", "psi"),
)
"""Units that measure the same, so that one can be said for another."""
_UNITS: Final[Mapping[str, Words]] = MappingProxyType(
    {
        "weight_kg": ("kilogram",),
        "height_cm": ("centimetre",),
        "age_years": ("year",),
        "weight_lb": ("pound",),
        "height_in": ("foot", "inch"),
    }
)
"""In which they tell each figure of a body; in pounds, feet and inches by phrases of their own."""
_WORDS: Final[Mapping[Language, Mapping[str, Words]]] = MappingProxyType(
    {
        "en": {
            "kilogram": (
                *("kilogram", "kilograms", "kilo", "kilos", "kilogramme", "kilogrammes"),
                *("kg", "kgs"),
            ),
            "pound": ("pound", "pounds", "lb", "lbs"),
            "stone": ("stone", "stones"),
            "gram": ("gram", "grams", "gramme", "grammes"),
            "milligram": ("milligram", "milligrams", "milligramme", "milligrammes", "mg"),
            "microgram": ("microgram", "micrograms", "microgramme", "microgrammes", "mcg"),
            "litre": ("litre", "litres", "liter", "liters"),
            "millilitre": ("millilitre", "millilitres", "milliliter", "milliliters", "ml", "mls"),
            "metre": ("metre", "metres", "meter", "meters"),
            "centimetre": ("centimetre", "centimetres", "centimeter", "centimeters", "cm"),
            "millimetre": ("millimetre", "millimetres", "millimeter", "millimeters", "mm"),
            "inch": ("inch", "inches"),
            "foot": ("foot", "feet"),
            "second": ("seconds",),  # "the second attempt"
            "minute": ("minute", "minutes"),
            "hour": ("hour", "hours"),
            "day": ("days",),
            "week": ("weeks",),
            "month": ("month", "months"),
            "year": ("year", "years"),
            "bar": ("bar",),
            "kilopascal": ("kilopascal", "kilopascals"),
            "psi": ("psi",),
        },
        "ko": {
            "kilogram": ("킬로", "킬로그램"),
            "pound": ("파운드",),
            "gram": ("그램",),
            "milligram": ("밀리그램",),
            "microgram": ("마이크로그램",),
            "litre": ("리터",),
            "millilitre": ("밀리리터",),
            "metre": ("미터",),
            "centimetre": ("센티", "센티미터"),
            "millimetre": ("밀리미터",),
            "inch": ("인치",),
            "foot": ("피트",),
            "second": ("초",),
            "minute": ("분",),
            "hour": ("시간",),
            "month": ("개월",),
            "year": ("살", "세", "년"),
            "bar": ("바",),
        },
    }
)
_MEASURED_BY: Final[Mapping[Language, Mapping[str, Words]]] = MappingProxyType(
    {
        "en": {
            "pressure_mmhg": (
                *("millimetre", "millimetres", "millimeter", "millimeters"),
                *("mercury", "systolic", "torr"),
            ),
            "pulse_per_min": ("minute", "beat", "beats", "pulse", "bpm"),
        },
        "ko": {},
    }
)
"""By which words the other figures of a patient are known."""
_NAMED_BY: Final[Mapping[Language, Mapping[str, Words]]] = MappingProxyType(
    {
        "en": {
            "weight_kg": (
                *("weight", "bodyweight", "weigh", "weighs", "weighing", "weighed", "scales"),
            ),
            "height_cm": ("height", "tall"),
            "age_years": ("age", "aged", "old"),
        },
        "ko": {
            "weight_kg": ("체중", "몸무게"),
            "height_cm": ("신장", "키"),
            "age_years": ("나이", "연세"),
        },
    }
)
"""By which words a figure is known without its unit: "the weight is eighty"."""


def unit_words(figure: str, tongue: Tongue) -> Words:
    """Of which one is in every wording of that figure's unit; empty where nobody can tell."""
    if figure not in _UNITS:
        return _MEASURED_BY[tongue.language].get(figure, ())
    own = (one for unit in _UNITS[figure] for one in _own_words(unit, tongue))
    return tuple(dict.fromkeys(own))


def is_unit_of(words: str, figure: str, tongue: Tongue) -> bool:
    """Whether they may stand for the unit of that figure: "years old" for an age."""
    known = unit_words(figure, tongue)
    return not known or not set(words_of(words)).isdisjoint(known)


def is_told_in(words: str, figure: str, tongue: Tongue) -> bool:
    """Whether a phrase around that figure names its unit, or none at all."""
    return is_unit_of(words, figure, tongue) or not units_named(words, tongue)


def tells_which(words: str, figure: str, tongue: Tongue) -> bool:
    """Whether a phrase around that figure's number says which it is, by its unit or its name.

    "He's eighty" is an age to most, and eighty pounds are never told without the pounds.
    """
    names = _NAMED_BY[tongue.language].get(figure, ())
    return is_unit_of(words, figure, tongue) or not set(words_of(words)).isdisjoint(names)


def units_named(text: str, tongue: Tongue) -> frozenset[str]:
    """The units of which a word stands in a text, by their names in English."""
    said = set(words_of(text))
    known = _WORDS[tongue.language]
    return frozenset(unit for unit in known if not said.isdisjoint(_own_words(unit, tongue)))


def another_unit(text: str, units: Collection[str], tongue: Tongue) -> str | None:
    """The unit that a text names in the place of one of these; None where it names none such.

    Only one that measures the same, and only where the text does not name the right one too.
    """
    named = units_named(text, tongue)
    for alike in _ALIKE:
        wrong = named.intersection(alike)
        if wrong and not wrong.intersection(units) and not set(alike).isdisjoint(units):
            return min(wrong)
    return None


def without_measures(text: str, tongue: Tongue) -> str:
    """The words of a text without those that follow a number: "two inches below the chin" asks for
    no inches."""
    kept = with_one_number(text, tongue.language).split()
    pairs = zip(["", *kept], kept, strict=False)
    return " ".join(word for before, word in pairs if before != "0")


def misnamed_as(unit: str, words: str, tongue: Tongue) -> str | None:
    """Another unit for which these words stand, in English, in the site's language or in its own
    terms, where a site says them for this one: its name in English; None where they may be."""
    said = set(words_of(words))
    for language in dict.fromkeys((tongue.language, "en")):
        for other, known in _WORDS[language].items():
            alike = any(other in one and unit in one for one in _ALIKE)
            stands = not said.isdisjoint(known) if alike else words.lower() in known
            if other != unit and stands:  # a cubic centimetre is no length
                return other
    for other in Units.model_fields:
        named = tongue.terms.units.named(other)
        if other != unit and words in (named.one, named.many):
            return other
    return None


def _own_words(unit: str, tongue: Tongue) -> Words:
    known = _WORDS[tongue.language].get(unit, ())
    if unit not in Units.model_fields or unit == "second":  # "a second look"
        return known
    named = tongue.terms.units.named(unit)
    return (*known, *words_of(named.many), *words_of(named.one))
