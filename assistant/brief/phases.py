"""The phases of a case: which items are asked in each, and which comes after which."""

from enum import Enum


class Phase(Enum):
    """When a section of the brief is asked."""

    BEFORE = "before"
    """Before the drugs: a case opens with it."""
    INDUCTION = "induction"
    """The drugs are in: by `drugs_in`."""
    BETWEEN = "between"
    """An attempt has failed, and another may follow: the bag is on. By a failed step that leads
    there."""
    SUPRAGLOTTIC = "supraglottic"
    """A supraglottic airway is to go in: by a failed step or an answer that leads there, and by
    `rescue_start` at any time."""
    SUPRAGLOTTIC_IN = "supraglottic-in"
    """It is in: by `rescue_in`."""
    FRONT_OF_NECK = "front-of-neck"
    """No oxygen gets in from above: by a failed step or an answer that leads there, and by
    `cannot_oxygenate` at any time."""
    NECK_OPEN = "neck-open"
    """A tube is in through the front of the neck: by `neck_open`."""
    WAKE_UP = "wake-up"
    """No further attempt, the patient is to breathe again: by a failed step or an answer that leads
    there, and by `wake_up`."""
    AFTER = "after"
    """A tube is in: by `tube_in`."""


RETURNING = (Phase.BEFORE, Phase.INDUCTION, Phase.BETWEEN)
"""From these the brief goes back to what was still to be asked before."""
AIRWAY_IN = (Phase.AFTER, Phase.SUPRAGLOTTIC_IN, Phase.NECK_OPEN)
"""Something is in through which the patient is to be ventilated."""
