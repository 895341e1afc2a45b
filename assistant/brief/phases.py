"""The phases of a case: which items are asked in each, and which comes after which."""

from enum import Enum


class Phase(Enum):
    """When a section of the brief is asked."""

    BEFORE = "before"
    INDUCTION = "induction"
    """The drugs are in."""
    BETWEEN = "between"
    """An attempt has failed, and another may follow: the bag is on."""
    SUPRAGLOTTIC = "supraglottic"
    """A supraglottic airway is to go in."""
    SUPRAGLOTTIC_IN = "supraglottic-in"
    FRONT_OF_NECK = "front-of-neck"
    """No oxygen gets in from above."""
    NECK_OPEN = "neck-open"
    """A tube is in through the front of the neck."""
    WAKE_UP = "wake-up"
    """No further attempt: the patient is to breathe again."""
    AFTER = "after"
    """A tube is in."""


RETURNING = (Phase.BEFORE, Phase.INDUCTION, Phase.BETWEEN)
"""From these the brief goes back to what was still to be asked before."""
AIRWAY_IN = (Phase.AFTER, Phase.SUPRAGLOTTIC_IN, Phase.NECK_OPEN)
"""Something is in through which the patient is to be ventilated."""
