"""Waiting for what comes about in real time."""

import time
from collections.abc import Callable
from typing import Any


def wait_for(comes_true: Callable[[], Any], within_s: float, what: str) -> None:
    """Wait for something, or fail saying what did not come."""
    until_s = time.monotonic() + within_s
    while not comes_true():
        assert time.monotonic() < until_s, f"did not come within {within_s} s: {what}"
        time.sleep(0.05)
