"""Keys that count at once, for commands that somebody works with one finger."""

import os
import select
import sys
import termios
import tty
from collections.abc import Iterator
from contextlib import contextmanager

END = ("q", "\x04", "")
"""Ends such a command; the last is what is read when there is no more."""


@contextmanager
def one_key_at_a_time() -> Iterator[None]:
    """Each key counts without the enter key; what is piped in is read as it is."""
    if not sys.stdin.isatty():
        yield
        return
    before = termios.tcgetattr(sys.stdin)
    try:
        tty.setcbreak(sys.stdin, termios.TCSANOW)  # no key is thrown away
        yield
    finally:
        termios.tcsetattr(sys.stdin, termios.TCSADRAIN, before)


def key_within(seconds: float) -> str | None:
    """The next key, or None when none comes that soon."""
    if not select.select([sys.stdin], [], [], seconds)[0]:
        return None
    # Past Python's own buffer, of which `select` knows nothing.
    return os.read(sys.stdin.fileno(), 1).decode("ascii", "replace")
