"""The rhythms of the status light: told apart without colour, and none of them stands still.

A light that stays on or off for four seconds therefore means, in every case, that nobody listens.
"""

from itertools import accumulate

from assistant.panel.panel import LightStatus

RHYTHMS_S: dict[LightStatus, tuple[float, ...]] = {
    LightStatus.IDLE: (0.15, 2.85),
    LightStatus.LISTENING: (1.8, 0.2),
    LightStatus.SPEAKING: (0.5, 0.5),
    LightStatus.FAULT: (0.15, 0.15, 0.15, 0.15, 0.15, 0.85),
}
"""Seconds lit and dark by turns, lit first: a wink, steady with a blink, even, three quick ones."""


class Light:
    """Where the light is in its rhythm."""

    def __init__(self) -> None:
        self._status: LightStatus | None = None
        self._began_s = 0.0

    def lit(self, status: LightStatus, now_s: float) -> bool:
        """Whether it shines now; a new status begins its rhythm at the beginning."""
        if status is not self._status:
            self._status, self._began_s = status, now_s
        ends_s = list(accumulate(RHYTHMS_S[status]))
        at_s = (now_s - self._began_s) % ends_s[-1]
        return next(number for number, end_s in enumerate(ends_s) if at_s < end_s) % 2 == 0
