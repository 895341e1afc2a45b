"""A partial recovery that lasts: the saturation above the last level that was called."""

from assistant.oximeter.samples import slack_s


class Plateau:
    """How high the saturation has kept since the last call, for how long, and how low it is now.

    Nothing is watched until a level is called.
    """

    def __init__(self, plateau_s: float, held_s: float) -> None:
        self._plateau_s = plateau_s
        self._held_s = held_s
        self._called_percent: int | None = None
        self._above_s = [0.0] * 101
        """For each whole percent above the last call, how long it has been there or higher."""
        self._below_s = [0.0] * 101
        """For each whole percent, how long the saturation has been there or lower."""
        self._best_percent = 0
        self._complete = False
        self._slack_s = 0.0

    @property
    def best_percent(self) -> int | None:
        """The highest that was held, once the plateau has lasted; None before that."""
        return self._best_percent if self._complete else None

    def called(self, percent: int) -> None:
        """A fall to this was called: what is above it may become a plateau."""
        self._called_percent = percent
        self.start_again()

    def start_again(self) -> None:
        """Nothing is known of the time before, but what was called."""
        self._above_s, self._below_s = [0.0] * 101, [0.0] * 101
        self._best_percent, self._complete = 0, False

    def lasted(self, spo2: int, seconds: float) -> None:
        """The saturation was this for so long."""
        if self._called_percent is None:
            return
        self._slack_s = slack_s(seconds)
        lowest = self._called_percent + 1
        for percent in range(lowest, spo2 + 1):
            self._above_s[percent] += seconds
            if self._above_s[percent] >= self._held_s - self._slack_s:
                self._best_percent = max(self._best_percent, percent)
        for percent in range(spo2, 101):
            self._below_s[percent] += seconds
        if lowest <= spo2:
            self._complete |= self._above_s[lowest] >= self._plateau_s - self._slack_s

    def see(self, spo2: int) -> None:
        """The saturation is this now: whatever it contradicts starts again."""
        if self._called_percent is None:
            return
        for percent in range(spo2 + 1, 101):
            self._above_s[percent] = 0.0
        for percent in range(spo2):
            self._below_s[percent] = 0.0
        if spo2 <= self._called_percent and not self._complete:
            self._best_percent = 0

    def held_at(self, percent: int, spo2: int) -> bool:
        """Whether this saturation, seen last, and what came before it were there or lower."""
        return spo2 <= percent and self._below_s[percent] >= self._held_s - self._slack_s
