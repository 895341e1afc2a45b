"""What the crossing rule remembers of each level, and of each kind of loss."""

from assistant.oximeter.samples import slack_s


class Level:
    """One level: whether it can be called, and how long the saturation has been on either side."""

    def __init__(self, percent: int, margin_percent: int, rearm_s: float) -> None:
        self.percent = percent
        self._recovered_percent = percent + margin_percent
        self._rearm_s = rearm_s
        self.armed = True
        self._low_s = self._recovered_s = self._slack_s = 0.0

    def lasted(self, spo2: int, seconds: float) -> None:
        """The saturation was this for so long; that may complete a recovery."""
        self._slack_s = slack_s(seconds)
        if spo2 <= self.percent:
            self._low_s += seconds
        if spo2 > self._recovered_percent:
            self._recovered_s += seconds
            self._rearm()

    def see(self, spo2: int) -> None:
        """The saturation is this now: whatever it contradicts starts again."""
        if spo2 > self.percent:
            self._low_s = 0.0
        if spo2 > self._recovered_percent:
            self._rearm()
        else:
            self._recovered_s = 0.0

    def is_due(self, spo2: int, held_s: float) -> bool:
        """Whether it has to be called at this saturation, which was seen last."""
        return self.armed and spo2 <= self.percent and self._low_s >= held_s - self._slack_s

    def is_recovered(self, spo2: int) -> bool:
        """Whether it can be called again and this saturation is still a recovery from it."""
        return self.armed and spo2 > self._recovered_percent

    def start_again(self) -> None:
        """Nothing is known of the time before."""
        self._low_s = self._recovered_s = 0.0

    def _rearm(self) -> None:
        self.armed |= self._recovered_s >= self._rearm_s - self._slack_s


class Loss:
    """One kind of loss: called once, and again only after it was good for a while."""

    def __init__(self, back_s: float) -> None:
        self._back_s = back_s
        self._called = False
        self._good_s = 0.0

    def good_for(self, seconds: float) -> None:
        """It was good for so long."""
        self._good_s += seconds
        if self._good_s >= self._back_s - slack_s(seconds):
            self._called = False

    def call(self) -> bool:
        """Whether this loss must be called now."""
        due, self._called, self._good_s = not self._called, True, 0.0
        return due
