"""Whose turn it is: nobody is spoken over for a line that can as well begin a little later."""

import math

AFTER_CALL_S = 2.5
"""So long after the watcher's call nothing is gone on with: people act on it, and say so. Common
practice, no source."""
BETWEEN_S = 0.6
"""So long somebody may get a word in between two breaths of a line."""
ONCE_MORE_S = 1.5
"""So long somebody who spoke there, and was not understood, has to say it once more."""
GOES_ON_S = 1.2
"""So long somebody whose answer was not understood may go on before it is asked for again."""
LONGEST_S = 5.0
"""An answer lasts no longer, with the silence that ends it. Talk that goes on is not waited for: it
may be a radio."""


class Turn:
    """Knows since when somebody has been speaking, and until when it is theirs anyway; asked once
    a block."""

    def __init__(self) -> None:
        self._since_s: float | None = None
        self._waits_since_s: float | None = None
        """Since when a line could have begun, but for those who speak."""
        self._quiet_until_s = -math.inf

    def leave_it(self, until_s: float) -> None:
        """Until then it is the turn of whoever wants to speak."""
        self._quiet_until_s = max(self._quiet_until_s, until_s)

    def take_it(self) -> None:
        """Somebody has spoken, and is answered."""
        self._quiet_until_s = -math.inf

    def is_free(self, at_s: float, *, somebody_speaks: bool) -> bool:
        """Whether a line may begin in the block at `at_s` that nobody's words have called for."""
        if not somebody_speaks:
            self._since_s = None
        elif self._since_s is None:
            self._since_s = at_s
        silent = self._since_s is None or at_s - self._since_s >= LONGEST_S
        if silent and at_s >= self._quiet_until_s:
            self._waits_since_s = None
            return True
        if self._waits_since_s is None:
            self._waits_since_s = at_s
        return at_s - self._waits_since_s >= LONGEST_S  # one after the other, they never end
