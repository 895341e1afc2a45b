"""Elapsed time from a monotonic clock; wall time for display only, with its trust."""

import ctypes
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Protocol


class Clock(Protocol):
    """Where every elapsed time of a case comes from."""

    name: str
    """`monotonic`, or `sound` when a rehearsal's sound is its own clock."""

    def now_s(self) -> float:
        """Seconds since some fixed moment; never steps back."""


class MonotonicClock:
    """The system's monotonic clock: one for all processes since the machine started."""

    name = "monotonic"

    def now_s(self) -> float:
        """Seconds since the machine started."""
        return time.monotonic()


class SoundClock:
    """A rehearsal's clock: it is where the room's sound has come to, and only that moves it."""

    name = "sound"

    def __init__(self) -> None:
        self._at_s = 0.0

    def now_s(self) -> float:
        """Seconds of sound so far."""
        return self._at_s

    def move_to(self, at_s: float) -> None:
        """Set the clock forward; a step back is a fault of the conductor."""
        if at_s < self._at_s:
            raise ValueError(f"the sound clock cannot go back from {self._at_s} to {at_s}")
        self._at_s = at_s


class ShiftedClock:
    """A case's clock that goes on after the machine was started anew: another one, shifted."""

    def __init__(self, clock: Clock, shift_s: float) -> None:
        self.name = clock.name
        self.shift_s = shift_s
        self._clock = clock

    def now_s(self) -> float:
        """Seconds on the case's own scale."""
        return self._clock.now_s() + self.shift_s


@dataclass(frozen=True, slots=True)
class WallReading:
    """The wall clock's time, and whether anything vouches for it."""

    at: str
    """RFC 3339, UTC, milliseconds."""
    trusted: bool
    """False when the system does not call its clock synchronised (a Pi has no clock battery)."""


def read_wall() -> WallReading:
    """Read the wall clock and its trust state now."""
    at = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return WallReading(at, _clock_is_synchronised())


def minutes_and_seconds(at_s: float) -> str:
    """For a column of times: " 12:03.4". Rounded first, so that it never shows sixty seconds."""
    minutes, seconds = divmod(round(at_s, 1), 60)
    return f"{minutes:3.0f}:{seconds:04.1f}"


def boot_id() -> str:
    """The identity of this run of the machine: monotonic times compare only within one."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return "unknown"


class _Timex(ctypes.Structure):
    # Only the size matters: `modes` = 0 asks the kernel to report and change nothing.
    _fields_ = (("modes", ctypes.c_uint), ("rest", ctypes.c_byte * 508))


def _clock_is_synchronised() -> bool:
    """Ask the kernel (adjtimex(2)): TIME_ERROR, 5, means that nothing disciplines the clock."""
    try:
        return 0 <= int(_libc().adjtimex(ctypes.byref(_Timex()))) < 5
    except AttributeError:  # not Linux
        return False


@cache
def _libc() -> ctypes.CDLL:
    """The process's own; to look for the library would start another process."""
    return ctypes.CDLL(None)
