"""Where samples come from: a serial port today, anything that gives samples tomorrow."""

import termios
from contextlib import suppress
from typing import Protocol

import serial

from assistant.clock import Clock
from assistant.oximeter.frames import FrameDecoder, FrameLayout, Sample

FIRST_WAIT_S, LONGEST_WAIT_S = 0.25, 2.0
"""Between attempts to open the port again: soon at first, then seldom enough not to matter."""
READ_BYTES = 4096
PARITIES = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}


class Feed(Protocol):
    """A source of samples that never blocks and never raises."""

    fault: str
    """Why nothing comes; empty while the source is open."""

    def read(self) -> tuple[Sample, ...]:
        """The samples that are there now, oldest first; none when there are none."""

    def close(self) -> None:
        """Let the source go."""


class SerialFeed:
    """An oximeter on a serial port, opened again for as long as it takes.

    A pulled plug shows as an error of the read, a lost finger or a pulled probe does not: whoever
    asks must judge the age of what came last.
    """

    def __init__(self, port: str, layout: FrameLayout, clock: Clock) -> None:
        self.fault = "not opened yet"
        self.port = port
        self._line = layout.line
        self._decoder = FrameDecoder(layout)
        self._clock = clock
        self._serial: serial.Serial | None = None
        self._next_try_s = clock.now_s()
        self._wait_s = FIRST_WAIT_S

    def read(self) -> tuple[Sample, ...]:
        now_s = self._clock.now_s()
        try:
            if self._serial is None:
                if now_s < self._next_try_s:
                    return ()
                self._serial = self._opened()
                self._decoder.forget()
                self.fault = ""
            data = self._serial.read(READ_BYTES)
        # pyserial lets errors of termios through, and refuses an impossible line by ValueError.
        except (OSError, termios.error, ValueError) as fault:
            self._give_up(str(fault), now_s)
            return ()
        samples = self._decoder.take(data, now_s)
        if samples:
            self._wait_s = FIRST_WAIT_S
        return samples

    def close(self) -> None:
        if self._serial is not None:
            with suppress(OSError, termios.error):  # the device went first
                self._serial.close()
            self._serial = None

    def _opened(self) -> serial.Serial:
        return serial.Serial(
            self.port,
            baudrate=self._line.baud,
            bytesize=self._line.data_bits,
            parity=PARITIES[self._line.parity],
            stopbits=self._line.stop_bits,
            timeout=0,
            # A second reader would take half of the bytes.
            exclusive=True,
        )

    def _give_up(self, fault: str, now_s: float) -> None:
        # At once: a port held open after the plug is pulled comes back under another name.
        self.close()
        self.fault = fault or "the port failed"
        self._next_try_s = now_s + self._wait_s
        self._wait_s = min(2 * self._wait_s, LONGEST_WAIT_S)
