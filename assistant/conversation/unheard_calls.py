"""The watcher's calls that nobody has heard yet, for want of a loudspeaker.

Said late, a call would be taken for news: a saturation that fell and came back must not be called
then. So what has waited is held against what the watcher sees once it can be said.
"""

from assistant.oximeter.crossing import CallKind
from assistant.oximeter.messages import Calling

NEWS_S = 10.0
"""A call is news for so long, and said as it is; an older one only if it is still so."""


class UnheardCalls:
    """Keeps each call until it was said to its end, or is not to be said any more."""

    def __init__(self) -> None:
        self._waiting: list[Calling] = []
        self._being_said: list[Calling] = []

    def wait(self, call: Calling) -> None:
        """It cannot be said now, or is no news any more."""
        self._waiting.append(call)

    def being_said(self, call: Calling) -> None:
        """Nobody has heard it before it has been said to its end."""
        self._being_said.append(call)

    def ended(self, text: str) -> None:
        """This has been said, or the voice cannot say it."""
        self._being_said = [one for one in self._being_said if one.text != text]

    def broken_off(self) -> None:
        """The loudspeaker is gone: what was being said waits with the others."""
        self._waiting = [*self._being_said, *self._waiting]
        self._being_said = []

    def overtaken(self, call: Calling) -> list[Calling]:
        """Those that this newer one makes idle, of levels or of a loss as it is."""
        idle = [
            one for one in (*self._waiting, *self._being_said) if _is_loss(one) == _is_loss(call)
        ]
        self._leave_out(idle)
        return idle

    def settled(self, spo2_percent: int | None) -> tuple[Calling | None, list[Calling]]:
        """At this saturation, which is seen now: the one call to say, and those that are not to be
        said any more.

        Where none is seen a loss is so, and the levels go on waiting: nobody can tell.
        """
        known = [one for one in self._waiting if spo2_percent is not None or _is_loss(one)]
        self._leave_out(known)
        so = [one for one in known if _is_so(one, spo2_percent)]
        to_say = min(so, key=lambda one: one.level_percent or 0, default=None)
        return to_say, [one for one in known if one is not to_say]

    def _leave_out(self, calls: list[Calling]) -> None:
        self._waiting = [one for one in self._waiting if one not in calls]
        self._being_said = [one for one in self._being_said if one not in calls]


def _is_loss(call: Calling) -> bool:
    return call.level_percent is None


def _is_so(call: Calling, spo2_percent: int | None) -> bool:
    if call.level_percent is None or spo2_percent is None:
        return call.level_percent is None and spo2_percent is None
    is_above = spo2_percent > call.level_percent
    return is_above == (call.kind == CallKind.RECOVERED.value)
