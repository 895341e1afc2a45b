"""Whether what is said can be understood at all, for whoever has to tell people so."""

from assistant.speaking.says import LiveSays


class Understanding:
    """Follows the ear's fault; asked once a block."""

    def __init__(self, live: LiveSays) -> None:
        self._live = live
        self._there = True

    def news(self, fault: str) -> tuple[str, str] | None:
        """What that fault, empty when all is well, tells that was not so before, once each: as it
        is recorded, and as it is said."""
        before, self._there = self._there, not fault
        if before is self._there:
            return None
        if fault:
            return f"nothing is understood: {fault}", self._live.nothing_understood
        return "what is said is understood again", self._live.sound_back
