"""What a service manager wants to know: sd_notify(3), whose protocol is one datagram."""

import os
import socket
from contextlib import suppress


def notify(state: str) -> None:
    """Tell systemd, such as READY=1 or WATCHDOG=1; without one nothing happens."""
    address = os.environ.get("NOTIFY_SOCKET", "")
    if not address:
        return
    if address.startswith("@"):  # an abstract socket
        address = "\0" + address[1:]
    with suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as line:
        line.setblocking(False)
        line.sendto(state.encode(), address)
