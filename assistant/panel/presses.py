"""From the pedal's contact to presses."""

from assistant.panel.panel import PedalRequest, Press
from assistant.panel.settings import PanelSettings


class Pedal:
    """One contact that closes and opens; a press counts when the foot is taken away.

    That the pedal is judged on being let go, and not as soon as it was held long enough, keeps a
    trolley's wheel that stands on it from beginning cases.
    """

    def __init__(self, settings: PanelSettings, *, closed: bool) -> None:
        """`closed` tells that the contact is closed already: then that press means nothing."""
        self._settings = settings
        self._down_since_s: float | None = None
        self._void = closed
        self._closed = closed

    def close(self, at_s: float) -> None:
        """The contact has closed."""
        if not self._closed:
            self._closed, self._void, self._down_since_s = True, False, at_s

    def open(self, at_s: float) -> Press | None:
        """The contact has opened: the press that has ended, if it was one."""
        began_s, void = self._down_since_s, self._void
        self._closed, self._void, self._down_since_s = False, False, None
        if began_s is None or void:
            return None
        held_s = at_s - began_s
        if held_s >= self._settings.stuck_s:
            return None
        long = held_s >= self._settings.long_press_s
        return Press(PedalRequest.NEW_CASE if long else PedalRequest.SAY_AGAIN, at_s, held_s)

    def stuck(self, now_s: float) -> bool:
        """Something stands on it."""
        if not self._closed:
            return False
        return self._void or (
            self._down_since_s is not None and now_s - self._down_since_s >= self._settings.stuck_s
        )
