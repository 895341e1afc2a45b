"""The heartbeat that systemd's watchdog watches: sound blocks that were really taken in.

"Alive but deaf" is the worst failure of a listener, because it looks alive; so the beat does not
come from the process being up.
"""

from assistant.clock import Clock
from assistant.supervision import notify

BEAT_S = 1.0


class Heartbeat:
    """Speaks systemd's notify protocol (sd_notify(3)); does nothing where there is no systemd."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._beat_s = float("-inf")

    def ready(self) -> None:
        """It listens now."""
        notify("READY=1")

    def heard_a_block(self) -> None:
        """A block of the microphone was taken in; tell systemd about once a second."""
        self._beat()

    def waits_for_sound(self) -> None:
        """The device is known to be gone and is tried again: not stuck, for a while."""
        self._beat()

    def _beat(self) -> None:
        now_s = self._clock.now_s()
        if now_s - self._beat_s >= BEAT_S:
            self._beat_s = now_s
            notify("WATCHDOG=1")

    def status(self, text: str) -> None:
        """A line for `systemctl status`."""
        notify(f"STATUS={text}")
