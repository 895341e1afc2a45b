"""How this patient is to be ventilated, in words: the ventilator's start, and the tube's depth."""

from decimal import Decimal

from assistant.brief.moment import Moment
from assistant.dosing.room import Breathing, depth_far_from, ventilator_start
from assistant.dosing.weights import Sex


def sex_of(now: Moment) -> Sex | None:
    """The patient's sex, where it is known."""
    sex = now.case.known.sex
    return None if sex is None else Sex(sex)


def ventilator_words(now: Moment, breathing: Breathing | None = None) -> str:
    """Where to start the ventilator; for what was told of the breathing, unless it is named."""
    height_cm = now.case.known.height_cm
    how = breathing or _breathing_of(now)
    return ventilator_start(now.site.figures, height_cm, sex_of(now), how, now.tongue).spoken


def depth_words(now: Moment, depth_cm: Decimal) -> str:
    """What this patient's height suggests, where a tube's depth is far from it; else nothing."""
    return depth_far_from(now.site.figures, now.case.known.height_cm, depth_cm, now.tongue)


def _breathing_of(now: Moment) -> Breathing:
    """Where air gets out slowly the lungs must empty, and that goes before the acid."""
    known = now.case.known
    if known.obstruction:
        return Breathing.OBSTRUCTED
    return Breathing.ACIDOTIC if known.acidosis else Breathing.USUAL
