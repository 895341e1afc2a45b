"""Whose turn it is: nobody is spoken over for a line that can as well begin a little later."""

LONGEST_S = 5.0
"""An answer lasts no longer, with the silence that ends it. Talk that goes on is not waited for: it
may be a radio."""


class Turn:
    """Knows since when somebody has been speaking; asked once a block."""

    def __init__(self) -> None:
        self._since_s: float | None = None

    def is_free(self, at_s: float, *, somebody_speaks: bool) -> bool:
        """Whether a line may begin in the block at `at_s` that nobody's words have called for."""
        if not somebody_speaks:
            self._since_s = None
        elif self._since_s is None:
            self._since_s = at_s
        return self._since_s is None or at_s - self._since_s >= LONGEST_S
