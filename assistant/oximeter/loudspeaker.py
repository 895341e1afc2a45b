"""The watcher's own way to the loudspeaker, apart from the conversation's."""

import threading
from typing import Any

import numpy as np
import numpy.typing as npt
import soxr

from assistant.audio.sound import RATE_HZ, Samples
from assistant.clock import Clock

LATENCY_S = 0.1
"""Through a mixer on a busy machine the least that PortAudio offers runs dry, and loses words."""
STALLED_S = 1.0
"""A stream that asks for no sound for so long is dead, whatever PortAudio says of it."""
RETRY_S = 5.0
FRESH_S = 5.0
"""So long a call is news: it is said when the loudspeaker comes back within this. The conversation
was asked to say it too; better twice than never."""
FIRST_OPEN_S = 3.0
"""So long the start waits for a loudspeaker; a slow one opens later by itself."""
NOTHING: Samples = np.zeros(0, dtype=np.int16)


class DeviceSpeaker:
    """One output stream, kept open and silent between calls so that a call starts at once.

    Without a device it is silent, and looks for one again every few seconds. Whatever may hang in
    a sound system hangs in a thread of its own.
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
        self._playing, self._sound, self._place = NOTHING, NOTHING, 0
        self._said_s = float("-inf")
        self._told_missed = True
        self._asked_s = float("-inf")
        """When the stream last asked for sound."""
        self._opening = threading.Thread(target=self._reopen, daemon=True)
        self.keep_open()
        self._opening.join(FIRST_OPEN_S)

    def say(self, samples: Samples) -> float:
        """Start it now; returns when it will end, or now when there is nothing to say it with."""
        now_s = self._clock.now_s()
        runs = self._runs(now_s)
        self._said_s, self._told_missed = now_s, not runs
        self._wanted = samples.copy()  # a call that is made twice is a new sound
        return now_s + len(samples) / RATE_HZ if runs else now_s

    def missed(self) -> bool:
        """Whether the stream died before what was said came to its end; true once."""
        wanted = self._wanted
        done = self._playing is wanted and self._place >= len(self._sound)
        if done or self._told_missed or self._runs(self._clock.now_s()):
            return False
        self._told_missed = True
        return True

    def keep_open(self) -> None:
        """See to it that the stream runs: the device was absent, pulled out, or went dead."""
        now_s = self._clock.now_s()
        if self._runs(now_s) or self._opening.is_alive() or now_s < self._next_try_s:
            return
        if self._stream is not None:
            self.fault = "the loudspeaker has stopped asking for sound"
        self._next_try_s = now_s + RETRY_S
        self._opening = threading.Thread(target=self._reopen, name="loudspeaker", daemon=True)
        self._opening.start()

    def close(self) -> None:
        if self._stream is not None:
            stream, self._stream = self._stream, None
            stream.close(ignore_errors=True)

    def _runs(self, now_s: float) -> bool:
        return self._stream is not None and now_s - self._asked_s < STALLED_S

    def _reopen(self) -> None:
        try:
            self.close()
            self._open()
        except (OSError, ValueError) as fault:  # PortAudio itself is missing; no such device
            self.fault = str(fault)

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
                stream = sounddevice.OutputStream(
                    samplerate=rate_hz,
                    channels=channels,
                    dtype="int16",
                    device=self._device,
                    latency=LATENCY_S,
                    callback=self._fill,
                )
                self._begin(rate_hz)
                stream.start()
            except sounddevice.PortAudioError as fault:  # the device does not do this
                self.fault = str(fault)
                continue
            self.fault, self._stream = "", stream
            return

    def _begin(self, rate_hz: float) -> None:
        """A new stream takes up what is still news, from its beginning."""
        self._rate_hz, self._asked_s = rate_hz, self._clock.now_s()
        self._playing = self._sound = NOTHING
        if self._asked_s - self._said_s > FRESH_S:
            self._wanted = NOTHING

    def _fill(
        self, block: npt.NDArray[np.int16], frames: int, _time: object, _status: object
    ) -> None:
        self._asked_s = self._clock.now_s()
        wanted = self._wanted
        if wanted is not self._playing:
            self._playing, self._place, self._sound = wanted, 0, self._at_its_rate(wanted)
        piece = self._sound[self._place : self._place + frames]
        self._place += len(piece)
        block.fill(0)
        block[: len(piece)] = piece[:, np.newaxis]

    def _at_its_rate(self, samples: Samples) -> Samples:
        if self._rate_hz == RATE_HZ or not len(samples):
            return samples
        return np.asarray(soxr.resample(samples, RATE_HZ, self._rate_hz), dtype=np.int16)
