"""Where samples come from, and the usual source: a serial port that is opened for as long as it
takes."""

import termios
from collections.abc import Callable
from contextlib import suppress
from typing import Protocol

import serial

from assistant.clock import Clock
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import SerialLayout

FIRST_WAIT_S, LONGEST_WAIT_S = 0.25, 2.0
"""Between attempts to open the port again: soon at first, then seldom enough not to matter."""
READ_BYTES = 4096
"""As much as the system keeps of a serial line: nothing can pile up behind one read."""
QUIET_S = 3.0
"""A port that is open, and gives nothing that can be read for so long, is a fault."""
SILENT = "the port is open and nothing comes: is the device switched on?"
GARBLED = "bytes come, and nothing in them can be read: is it another speed, or another layout?"
PARITIES = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}

Keep = Callable[[float, bytes], None]
"""Takes what was read, as it was read, with its time in s of the case's clock."""


class Feed(Protocol):
    """A source of samples that never blocks and never raises."""

    name: str
    """The port, the address or the file."""
    fault: str
    """Why nothing that can be read comes; empty while it does."""

    def read(self) -> tuple[Sample, ...]:
        """The samples that are there now, oldest first; none when there are none."""

    def close(self) -> None:
        """Let the source go."""


class SerialFeed:
    """An oximeter on a serial port, opened again for as long as it takes.

    A pulled plug shows as an error of the read, a lost finger or a pulled probe does not: whoever
    asks must judge the age of what came last.
    """

    def __init__(
        self, port: str, layout: SerialLayout, clock: Clock, keep: Keep | None = None
    ) -> None:
        self.name = port
        self.fault = "not opened yet"
        self._line = layout.line
        self._decoder = layout.decoder()
        self._clock = clock
        self._keep = keep
        self._serial: serial.Serial | None = None
        self._next_try_s = clock.now_s()
        self._wait_s = FIRST_WAIT_S
        self._quiet_since_s = clock.now_s()
        self._heard_bytes = 0
        """Since the last sample."""

    def read(self) -> tuple[Sample, ...]:
        """What the port has now, decoded; opens the port again when it is due."""
        now_s = self._clock.now_s()
        try:
            if self._serial is None:
                if now_s < self._next_try_s:
                    return ()
                self._serial = self._opened()
                self._decoder.forget()
                self.fault, self._quiet_since_s, self._heard_bytes = "", now_s, 0
            data = self._serial.read(READ_BYTES)
        # pyserial lets errors of termios through, and refuses an impossible line by ValueError.
        except (OSError, termios.error, ValueError) as fault:
            self._give_up(str(fault), now_s)
            return ()
        samples = self._decoder.take(data, now_s)
        if data and self._keep is not None:
            self._keep(now_s, data)
        self._doubt(now_s, len(data), any_sample=bool(samples))
        return samples

    def close(self) -> None:
        """Let the port go."""
        if self._serial is not None:
            with suppress(OSError, termios.error):  # the device went first
                self._serial.close()
            self._serial = None

    def _opened(self) -> serial.Serial:
        return serial.Serial(
            self.name,
            baudrate=self._line.baud,
            bytesize=self._line.data_bits,
            parity=PARITIES[self._line.parity],
            stopbits=self._line.stop_bits,
            timeout=0,
            # A second reader would take half of the bytes.
            exclusive=True,
        )

    def _doubt(self, now_s: float, more_bytes: int, *, any_sample: bool) -> None:
        """Notice a line that gives nothing, or nothing that makes sense."""
        self._heard_bytes += more_bytes
        if any_sample:
            self.fault, self._wait_s = "", FIRST_WAIT_S
            self._quiet_since_s, self._heard_bytes = now_s, 0
        elif now_s - self._quiet_since_s >= QUIET_S:
            self.fault = GARBLED if self._heard_bytes else SILENT

    def _give_up(self, fault: str, now_s: float) -> None:
        # At once: a port held open after the plug is pulled comes back under another name.
        self.close()
        self.fault = fault or "the port failed"
        self._next_try_s = now_s + self._wait_s
        self._wait_s = min(2 * self._wait_s, LONGEST_WAIT_S)
