"""What the crossing rule remembers of each level, and of each kind of loss."""

from assistant.oximeter.samples import slack_s

LAST_STANDS_S = 1.0
"""What was seen last before a loss counts for no longer: a single sample makes no call."""
SAID_AGAIN_S = 120.0
"""A loss that is broken by something good, but never for long enough, is called again so seldom."""


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

    def broken_off(self, spo2: int | None) -> None:
        """A loss lies between: nobody knows that it was a recovery. What was seen last, if it was
        believed, stands for a moment."""
        self._recovered_s = 0.0
        if spo2 is not None and spo2 <= self.percent:
            self._low_s += LAST_STANDS_S

    def forget_low(self) -> None:
        """That was too long ago to say anything about now."""
        self._low_s = 0.0

    def _rearm(self) -> None:
        self.armed |= self._recovered_s >= self._rearm_s - self._slack_s


class Loss:
    """One kind of loss: called once, and again only after it was good for a while; seldom, if it is
    good now and then, but never for so long."""

    def __init__(self, back_s: float) -> None:
        self._back_s = back_s
        self._called_s: float | None = None
        self._good_s = 0.0
        self._was_good = False

    def good(self) -> None:
        """It is good now."""
        self._was_good = True

    def good_for(self, seconds: float) -> None:
        """It was good for so long."""
        self._good_s += seconds
        if self._good_s >= self._back_s - slack_s(seconds):
            self._called_s = None

    def call(self, now_s: float) -> bool:
        """Whether this loss must be called now."""
        called_s = self._called_s
        due = called_s is None or (self._was_good and now_s - called_s >= SAID_AGAIN_S)
        self._good_s = 0.0
        if due:
            self._called_s, self._was_good = now_s, False
        return due
