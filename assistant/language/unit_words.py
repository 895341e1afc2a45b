"""By which words the unit of each of a patient's figures is known, for checking what a site writes.

A language may lack a figure: then its unit is not checked.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from assistant.language.numbers_in_text import words_of
from assistant.language.tongue import Language, Tongue

_TOLD_IN: Final = ("weight_kg", "height_cm", "age_years", "weight_lb", "height_in")
"""What people tell of a body; in pounds, feet and inches too, each by phrases of its own."""
_UNITS: Final = {"weight_kg": "kilogram", "height_cm": "centimetre", "age_years": "year"}
"""Of the figures whose unit a site's terms name."""
_WORDS: Final[Mapping[Language, Mapping[str, tuple[str, ...]]]] = MappingProxyType(
    {
        "en": {
            "weight_kg": ("kilo", "kilos", "kilogramme", "kilogrammes", "kg", "kgs"),
            "height_cm": ("centimetre", "centimetres", "centimeter", "centimeters", "cm"),
            "age_years": ("years", "year"),
            "weight_lb": ("pound", "pounds", "lb", "lbs", "stone"),
            "height_in": ("foot", "feet", "inch", "inches"),
            "pressure_mmhg": (
                *("millimetre", "millimetres", "millimeter", "millimeters"),
                *("mercury", "systolic", "torr"),
            ),
            "pulse_per_min": ("minute", "beat", "beats", "pulse", "bpm"),
        },
        "ko": {
            "weight_kg": ("킬로", "킬로그램"),
            "height_cm": ("센티", "센티미터"),
            "age_years": ("살", "세", "년"),
            "weight_lb": ("파운드",),
            "height_in": ("피트", "인치"),
        },
    }
)


def unit_words(figure: str, tongue: Tongue) -> tuple[str, ...]:
    """Of which one is in every wording of that figure's unit; empty where nobody can tell."""
    own = _WORDS[tongue.language].get(figure, ())
    if figure not in _UNITS:
        return own
    named = tongue.terms.units.named(_UNITS[figure])
    return tuple(dict.fromkeys((*words_of(named.many), *words_of(named.one), *own)))


def is_unit_of(words: str, figure: str, tongue: Tongue) -> bool:
    """Whether they may stand for the unit of that figure: "years old" for an age."""
    known = unit_words(figure, tongue)
    return not known or not set(words_of(words)).isdisjoint(known)


def is_told_in(words: str, figure: str, tongue: Tongue) -> bool:
    """Whether a phrase around that figure names its unit, or none at all."""
    others = {one for other in _TOLD_IN if other != figure for one in unit_words(other, tongue)}
    return is_unit_of(words, figure, tongue) or others.isdisjoint(words_of(words))
