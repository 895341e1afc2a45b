"""The watcher's own way to the loudspeaker, apart from the conversation's."""

from typing import Any

import numpy as np
import numpy.typing as npt
import soxr

from assistant.clock import Clock
from assistant.sound import RATE_HZ, Samples

RETRY_S = 5.0
NOTHING: Samples = np.zeros(0, dtype=np.int16)


class DeviceSpeaker:
    """One output stream, kept open and silent between calls so that a call starts at once.

    Without a device it is silent, and looks for one again every few seconds.
    """

    def __init__(self, clock: Clock, device: str | int | None = None) -> None:
        """`device` is a name or number of PortAudio's; None is the system's own choice."""
        self.fault = "not opened yet"
        """Why nothing is heard; empty while the stream runs."""
        self._clock = clock
        self._device = device
        self._stream: Any = None
        self._rate_hz: float = RATE_HZ
        self._next_try_s = clock.now_s()
        # Written by `say` alone; the stream's thread notices that it is another sound than its own.
        self._wanted = NOTHING
        self._playing, self._place = NOTHING, 0
        self.keep_open()

    def say(self, samples: Samples) -> float:
        """Start it now; returns when it will end, or now when there is nothing to say it with."""
        self.keep_open()
        if self._stream is None or not self._stream.active:
            return self._clock.now_s()
        if self._rate_hz == RATE_HZ:
            self._wanted = samples.copy()  # a call that is made twice is a new sound
        else:
            self._wanted = soxr.resample(samples, RATE_HZ, self._rate_hz)
        return self._clock.now_s() + len(samples) / RATE_HZ

    def keep_open(self) -> None:
        """Open the stream when it is not running: the device was absent, or was pulled out."""
        if self._stream is not None and self._stream.active:
            return
        now_s = self._clock.now_s()
        if now_s < self._next_try_s:
            return
        self._next_try_s = now_s + RETRY_S
        self._wanted = NOTHING  # what nobody heard is not news any more when the device is back
        try:
            self.close()
            self._open()
        except (OSError, ValueError) as fault:  # PortAudio itself is missing; no such device
            self.fault = str(fault)

    def close(self) -> None:
        if self._stream is not None:
            stream, self._stream = self._stream, None
            stream.close(ignore_errors=True)

    def _open(self) -> None:
        import sounddevice  # PortAudio may be missing on a machine without sound

        try:
            # A device that was plugged in later is seen only by a fresh PortAudio.
            sounddevice._terminate()
            sounddevice._initialize()
            usual_hz = float(
                sounddevice.query_devices(self._device, "output")["default_samplerate"]
            )
        except sounddevice.PortAudioError as fault:
            self.fault = str(fault)
            return
        for rate_hz, channels in ((RATE_HZ, 1), (RATE_HZ, 2), (usual_hz, 1), (usual_hz, 2)):
            try:
                self._stream = sounddevice.OutputStream(
                    samplerate=rate_hz,
                    channels=channels,
                    dtype="int16",
                    device=self._device,
                    latency="low",
                    callback=self._fill,
                )
                self._stream.start()
            except sounddevice.PortAudioError as fault:  # the device does not do this
                self.fault = str(fault)
                self.close()
            else:
                self.fault, self._rate_hz = "", rate_hz
                return

    def _fill(
        self, block: npt.NDArray[np.int16], frames: int, _time: object, _status: object
    ) -> None:
        if self._wanted is not self._playing:
            self._playing, self._place = self._wanted, 0
        piece = self._playing[self._place : self._place + frames]
        self._place += len(piece)
        block.fill(0)
        block[: len(piece)] = piece[:, np.newaxis]
