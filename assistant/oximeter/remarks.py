"""What `check` says of settings of the oximeter that are allowed, and cost something."""

from collections.abc import Iterator

from assistant.oximeter.crossing import MOST_PERCENT
from assistant.oximeter.settings import OximeterSettings

LONG_HELD_S, LONG_JUMP_S, STOOD_STILL_S = 5.0, 10.0, 31.0
"""The last is from the recordings that `belief` names; the others are this project's own."""


def remarks(settings: OximeterSettings) -> Iterator[str]:
    """A sentence for each of them, with the cost."""
    rule, belief = settings.crossing, settings.crossing.belief
    if rule.threshold_percent + rule.rearm_margin_percent >= MOST_PERCENT:
        yield (
            "Nobody is ever above threshold_percent by rearm_margin_percent: after the first call "
            f"the next is by a new fall, after plateau_s, {rule.plateau_s:g} s"
        )
    if rule.held_s > LONG_HELD_S:
        yield f"Called late: each fall must last for held_s, {rule.held_s:g} s"
    if belief.jump_held_s > LONG_JUMP_S:
        yield f"Called late: a steep fall is believed after jump_held_s, {belief.jump_held_s:g} s"
    if belief.frozen_s <= STOOD_STILL_S:
        yield (
            f"Good figures have stood still for {STOOD_STILL_S:g} s, and are not believed after "
            f"frozen_s, {belief.frozen_s:g} s"
        )
