"""Whether what is said can be understood at all, for whoever has to tell people so."""

from enum import Enum


class News(Enum):
    """What has changed."""

    LOST = "lost"
    BACK = "back"


class Understanding:
    """Follows the ear's fault; asked once a block."""

    def __init__(self) -> None:
        self._there = True

    def news(self, fault: str) -> News | None:
        """What that fault, empty when all is well, tells that was not so before; once each."""
        before, self._there = self._there, not fault
        if before is self._there:
            return None
        return News.BACK if self._there else News.LOST
