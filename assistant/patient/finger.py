"""The simulated oximeter on the patient's finger: real frames, late and averaged as real ones are.

It stands in for a device, which a rehearsal does not have, and writes to a pseudo-terminal what the
device would write to its serial port.
"""

import math
import os
import pty
import tty
from collections import deque
from contextlib import suppress
from typing import NamedTuple

from assistant.oximeter.settings import SerialLayout
from assistant.patient.course import Oximeter, SimulatedPatient

DELAY_S = 8.0
"""Along the arteries to the finger, and through the device. With what the blood takes to mix on its
way, and the average, the lungs are some 25 s ahead of the display (common practice: 10 to 30 s)."""
AVERAGING_S = 8.0
"""Devices average over 2 to 16 s."""
LOOKS_PER_S = 4
"""How often the saturation is sampled for the average."""


MOTION = (0, -18, None, None, -30, None, 0)
"""Seven seconds of a moving hand, repeated: the error of the figure, or no figure."""
WEAK = (0, 0, 1, None, 0, -1, 0, None, None, 0)
"""Ten seconds of a cold hand."""
LOST = ("artefact", "searching")


class Pty(NamedTuple):
    """A pseudo-terminal: what is written to the master is read by whatever opens the slave path."""

    master_fd: int
    slave_path: str


def open_pty() -> Pty:
    """A raw pseudo-terminal whose writer never waits for a reader."""
    master_fd, slave_fd = pty.openpty()
    tty.setraw(slave_fd)
    path = os.ttyname(slave_fd)
    os.close(slave_fd)
    os.set_blocking(master_fd, False)
    return Pty(master_fd, path)


class SimulatedOximeter:
    """Writes the patient's saturation to a pseudo-terminal at the device's own pace."""

    def __init__(
        self,
        patient: SimulatedPatient,
        layout: SerialLayout,
        master_fd: int,
    ) -> None:
        self._patient = patient
        self._layout = layout
        self._fd = master_fd
        self._delay_looks = round(DELAY_S * LOOKS_PER_S)
        self._average_looks = max(1, round(AVERAGING_S * LOOKS_PER_S))
        looks = self._delay_looks + self._average_looks
        self._looks = deque([patient.spo2_percent] * looks, maxlen=looks)
        self._looks_taken = 0
        self._frames = 0
        self._beat = 0.0
        """Phase of the pulse wave, in beats."""

    def step(self, now_s: float) -> None:
        """Advance the patient to now and write the frames that are due."""
        pace = self._layout.frames_per_s
        due = bytearray()
        while self._frames / pace <= now_s:
            self._advance_to(self._frames / pace)
            due += self._frame()
            self._frames += 1
        self._advance_to(now_s)
        if due:
            with suppress(BlockingIOError):  # nobody reads: a serial line would lose it too
                os.write(self._fd, due)

    @property
    def shown_percent(self) -> int:
        """What its display says: whole percents of the average."""
        averaged = list(self._looks)[: self._average_looks]
        return round(sum(averaged) / len(averaged))

    def _advance_to(self, at_s: float) -> None:
        while self._looks_taken / LOOKS_PER_S <= at_s:
            self._patient.advance(self._looks_taken / LOOKS_PER_S)
            self._looks.append(self._patient.spo2_percent)
            self._looks_taken += 1
        self._patient.advance(at_s)

    def _frame(self) -> bytes:
        oximeter = self._patient.oximeter
        if oximeter is Oximeter.UNPLUGGED:
            return b""
        if oximeter is Oximeter.OFF_FINGER:
            return self._layout.encode(None, None, flags=("no finger",))
        pulse = self._patient.pulse_bpm
        self._beat = (self._beat + pulse / 60 / self._layout.frames_per_s) % 1
        wave = round(60 + 50 * math.sin(2 * math.pi * self._beat))
        off, flags = self._disturbance(oximeter)
        if off is None:
            return self._layout.encode(None, None, wave, (*LOST, *flags))
        shown = min(100, max(0, self.shown_percent + off))
        return self._layout.encode(shown, round(pulse), wave, flags)

    def _disturbance(self, oximeter: Oximeter) -> tuple[int | None, tuple[str, ...]]:
        """The error of the figure this second (None: no figure), and the flags to send."""
        second = int(self._frames / self._layout.frames_per_s)
        if oximeter is Oximeter.MOVING:
            return MOTION[second % len(MOTION)], ()
        if oximeter is Oximeter.COLD:
            return WEAK[second % len(WEAK)], ("low perfusion",)
        return 0, ()
