"""The gate: who is heard while who speaks.

Nobody is heard while the watcher calls, nor while the assistant speaks and for a moment after it,
unless its echo is cancelled; and nobody when it has no loudspeaker to answer with.
"""

from assistant.audio.sound import BLOCK_S


class Gate:
    """Opens and shuts the microphone; asked once a block, with the time at which it begins."""

    def __init__(self, tail_s: float, *, may_interrupt: bool = False) -> None:
        """The microphone stays shut for `tail_s` after the assistant's last sample.

        With `may_interrupt` it is open while the assistant speaks.
        """
        self.tail_s = tail_s
        """How long the assistant's own voice is heard after its last sample."""
        self._shut_until_s = 0.0
        self._call_until_s: float | None = None
        self.may_interrupt = may_interrupt
        """Whether people are heard while the assistant speaks."""
        self.hears = True
        """Whether there is a microphone."""
        self.speaks = True
        """Whether there is a loudspeaker."""

    @property
    def calling(self) -> bool:
        """Whether the watcher calls."""
        return self._call_until_s is not None

    @property
    def opens_s(self) -> float:
        """When the echo of what was spoken last will be over."""
        return self._shut_until_s

    @property
    def lets_speak(self) -> bool:
        """Whether what is said now would be heard, and over no call."""
        return self.speaks and not self.calling

    def is_shut(self, at_s: float, *, speaking: bool) -> bool:
        """Whether nobody is heard in this block; `speaking`: the assistant speaks in it."""
        own_voice = self._own_voice(at_s, speaking=speaking) and not self.may_interrupt
        return own_voice or self.calling or not self.speaks

    def awaits(self, at_s: float, *, speaking: bool) -> bool:
        """Whether it is silent, and somebody who answers in this block would be heard."""
        silent = not self._own_voice(at_s, speaking=speaking) and not self.calling
        return silent and self.hears and self.speaks

    def spoke(self, at_s: float) -> None:
        """The assistant speaks in the block that begins at `at_s`."""
        self._shut_until_s = at_s + BLOCK_S + self.tail_s

    def call(self, until_s: float) -> None:
        """The watcher calls until then, or still longer when it has said so before."""
        self._call_until_s = max(until_s, self._call_until_s or until_s)

    def call_has_ended(self, at_s: float) -> bool:
        """Whether a call ends with this block; it is true once for each."""
        if self._call_until_s is None or at_s < self._call_until_s:
            return False
        self._call_until_s = None
        self._shut_until_s = at_s + self.tail_s
        return True

    def sound_is(self, *, hears: bool, speaks: bool) -> bool:
        """What microphone and loudspeaker can do from now on; whether both are back just now.

        What comes back may be another device, whose echo nobody has tried: no more interrupting.
        """
        back = hears and speaks and not (self.hears and self.speaks)
        self.hears, self.speaks = hears, speaks
        self.may_interrupt &= hears and speaks
        return back

    def _own_voice(self, at_s: float, *, speaking: bool) -> bool:
        return speaking or at_s < self._shut_until_s
