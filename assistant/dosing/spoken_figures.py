"""Figures in words among what is said with a dose: a slip in them would be spoken to the team."""

from collections.abc import Iterator

from assistant.dosing.drugs import Indication
from assistant.dosing.formulary import Formulary
from assistant.dosing.units import quantity
from assistant.files.faults import Fault
from assistant.language.numbers_in_text import NumberInText, numbers_in, words_of
from assistant.language.tongue import Tongue

LONGEST_S = 600
"""No dose that is given at once is given over longer; this project's own limit, no source."""
_MASSES = {"milligram": "mg", "microgram": "mcg"}
_TIMES_S = {"second": 1, "minute": 60, "hour": 3600}


def spoken_otherwise(formulary: Formulary, tongue: Tongue) -> Iterator[Fault]:
    """An amount that is not the use's own maximum, and a time that no single dose takes."""
    for loc, _, use in formulary.placed_uses():
        for at, sentence in enumerate(use.said_with_dose):
            for one in numbers_in(sentence, tongue.numbers):
                allowed = _instead_of(one, use, tongue)
                if allowed is not None:
                    yield Fault((*loc, "said_with_dose", at), repr(sentence), allowed)


def _instead_of(one: NumberInText, use: Indication, tongue: Tongue) -> str | None:
    """What is allowed in place of a number with its unit; None where nothing is wrong with it."""
    for name, unit in _MASSES.items():
        if _follows(one, name, tongue):
            most = use.maximum.most
            same = most.weight is None and quantity(one.number, unit) == most.quantity
            return None if same else f"the maximum of the use, {most}, in words; no other amount"
    for name, seconds in _TIMES_S.items():
        if _follows(one, name, tongue):
            too_long = not use.dose.infusion and one.number * seconds > LONGEST_S
            return f"at most {LONGEST_S // 60} minutes for one dose" if too_long else None
    return None


def _follows(one: NumberInText, unit: str, tongue: Tongue) -> bool:
    words = tongue.terms.units.named(unit)
    forms = {tuple(words_of(form)) for form in (words.one, words.many)}
    return any(one.then[: len(form)] == form for form in forms)
