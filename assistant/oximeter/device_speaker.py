"""The watcher's own way to the loudspeaker, apart from the conversation's."""

import threading

import numpy as np

from assistant.audio.devices import DeviceFault, OpenDevice, look_again, open_loudspeaker
from assistant.audio.resampling import resampled
from assistant.audio.sound import RATE_HZ, Samples
from assistant.clock import Clock

STALLED_S = 1.0
"""A stream that asks for no sound for so long is dead, whatever PortAudio says of it."""
RETRY_S = 5.0
FRESH_S = 5.0
"""A call that nobody heard is said when the loudspeaker comes back within this. The conversation
was asked to say it too: then it is heard twice."""
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
        self._open: OpenDevice | None = None
        self._next_try_s = clock.now_s()
        # Written by `say` alone; the stream's thread notices that it is another sound than its own.
        self._wanted = NOTHING
        # Of that, what is no news any more: written by whoever opens the device anew.
        self._stale = NOTHING
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
        done |= wanted is self._stale
        if done or self._told_missed or self._runs(self._clock.now_s()):
            return False
        self._told_missed = True
        return True

    def keep_open(self) -> None:
        """See to it that the stream runs: the device was absent, pulled out, or went dead."""
        now_s = self._clock.now_s()
        if self._runs(now_s) or self._opening.is_alive() or now_s < self._next_try_s:
            return
        if self._open is not None:
            self.fault = "the loudspeaker has stopped asking for sound"
        self._next_try_s = now_s + RETRY_S
        self._opening = threading.Thread(target=self._reopen, name="loudspeaker", daemon=True)
        self._opening.start()

    def close(self) -> None:
        """Let the device go."""
        if self._open is not None:
            device, self._open = self._open, None
            device.close()

    def _runs(self, now_s: float) -> bool:
        return self._open is not None and now_s - self._asked_s < STALLED_S

    def _reopen(self) -> None:
        self.close()
        try:
            look_again()
            self._drop_old_news()
            device = open_loudspeaker(self._device, self._give)
        except DeviceFault as fault:
            self.fault = str(fault)
            return
        self._asked_s = self._clock.now_s()
        self.fault, self._open = "", device

    def _drop_old_news(self) -> None:
        """What is opened anew takes up what is still news, from its beginning."""
        self._playing = self._sound = NOTHING
        wanted = self._wanted  # before its time: a call that is made meanwhile stays news
        if self._clock.now_s() - self._said_s > FRESH_S:
            self._stale = wanted

    def _give(self, buffer: Samples) -> None:
        """PortAudio's thread: the next piece of what is said."""
        self._asked_s = self._clock.now_s()
        device, wanted = self._open, self._wanted
        if device is None:  # being opened: its rate is not known yet
            return
        if wanted is not self._playing and wanted is not self._stale:
            sound = resampled(wanted, RATE_HZ, device.rate_hz)
            self._playing, self._place, self._sound = wanted, 0, sound
        piece = self._sound[self._place : self._place + len(buffer)]
        self._place += len(piece)
        buffer[: len(piece)] = piece
