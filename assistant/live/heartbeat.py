"""The heartbeat that systemd's watchdog watches: sound blocks that were really taken in.

"Alive but deaf" is the worst failure of a listener, because it looks alive; so the beat does not
come from the process being up.
"""

import os
import socket

from assistant.clock import Clock

BEAT_S = 1.0


class Heartbeat:
    """Speaks systemd's notify protocol (sd_notify(3)); does nothing where there is no systemd."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._address = os.environ.get("NOTIFY_SOCKET", "")
        self._beat_s = float("-inf")

    def ready(self) -> None:
        """It listens now."""
        self._send("READY=1")

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
            self._send("WATCHDOG=1")

    def status(self, text: str) -> None:
        """A line for `systemctl status`."""
        self._send(f"STATUS={text}")

    def _send(self, message: str) -> None:
        if not self._address:
            return
        # A leading @ stands for the abstract name space.
        address = self._address.replace("@", "\0", 1) if self._address[0] == "@" else self._address
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as line:
            line.setblocking(False)
            try:
                line.sendto(message.encode(), address)
            except OSError:  # systemd is busy or gone: it will notice by itself
                return
