"""Microphone and loudspeaker of the conversation, together: opened again together.

PortAudio sees a device that was plugged in later only when it is started anew, and that ends every
stream of the process; so one object owns both. Without a microphone the loudspeaker is opened all
the same, to say so; without a loudspeaker nothing is heard, for nobody could hear the questions.
"""

import queue
import threading
from collections import deque

import numpy as np

from assistant.audio.devices import (
    DeviceFault,
    OpenDevice,
    look_again,
    look_for,
    open_loudspeaker,
    open_microphone,
)
from assistant.audio.resampling import Resampler
from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ, Samples, silence
from assistant.clock import Clock

RETRY_S = 2.0
SILENT_S = 1.5
"""A microphone that delivers nothing for so long is gone: some report no error."""
STALLED_S = 3.0
"""The same of a loudspeaker that asks for nothing; a busy machine is late by a second."""
RATED_OVER_S = 10.0
WRONG_RATE = 0.05
"""A device that delivers so much more or less than it was opened for has another rate: the usual
ones are 8 % apart at the least (44.1 and 48 kHz)."""
STEADY_RATE = 0.01
FIRST_SOUND_S = 5.0
"""A stream that has just been opened may take longer."""
PREFILL_BLOCKS = 2
"""Played behind the microphone by this much, so that a late block is not heard as a gap."""
LONGEST_QUEUE_S = 30.0
ENOUGH_BLOCKS = 6
"""So much waits to be played at the most: what is said is heard by its own microphone no later than
the self-test has measured and its margin allows for."""
SAID_S = 0.5
"""What was given to be played has been played by then."""
LONGEST_SAID_S = 12.0
"""So long a microphone that is gone is not looked for while there is something to say."""

MicrophoneBlock = tuple[float, Samples]
"""When the block began, on the clock, and its 512 samples."""


class Rated:
    """Compares what a microphone delivers with the rate that it says."""

    def __init__(self, rate_hz: float, from_s: float) -> None:
        self._rate_hz = rate_hz
        self._since_s = from_s
        self._samples = 0
        self._overruns = 0
        self._wrong_ratio = 0.0

    def took(self, samples: int) -> None:
        """So many have come."""
        self._samples += samples

    def is_wrong(self, now_s: float, overruns: int) -> bool:
        """Twice in a row equally too many or too few for the clock, and no overrun explains it."""
        lasted_s = now_s - self._since_s
        if lasted_s < 0:
            self._samples = 0
        if lasted_s < RATED_OVER_S:
            return False
        ratio = self._samples / lasted_s / self._rate_hz
        wrong = abs(ratio - 1) > WRONG_RATE and overruns == self._overruns
        # A machine that is too busy loses sound as well, but never as steadily.
        twice = wrong and abs(ratio - self._wrong_ratio) < STEADY_RATE
        self._wrong_ratio, self._overruns = ratio if wrong else 0.0, overruns
        self._since_s, self._samples = now_s, 0
        return twice


class SoundCard:
    """Blocks in, blocks out; `fault` says why there is neither, and it opens again by itself."""

    def __init__(self, clock: Clock, microphone: str | None, loudspeaker: str | None) -> None:
        """Devices by (part of) their name as `spoken-brief devices` lists them; None: the usual."""
        self.fault = "not opened yet"
        self.overruns = 0
        """How often the microphone's own buffer ran over; sound was lost each time."""
        self._clock = clock
        self._names = (microphone, loudspeaker)
        self._input: OpenDevice | None = None
        self._output: OpenDevice | None = None
        self._arrived: queue.Queue[tuple[float, Samples]] = queue.Queue(
            maxsize=round(LONGEST_QUEUE_S / BLOCK_S)
        )
        self._pending: Samples = silence(0)
        self._to_16_khz = Resampler(RATE_HZ, RATE_HZ)
        self._to_play: deque[Samples] = deque()
        self._playing: Samples = silence(0)
        self._from_16_khz = Resampler(RATE_HZ, RATE_HZ)
        self._lock = threading.Lock()
        self._last_sound_s = clock.now_s()
        self._asked_s = clock.now_s()
        """When the loudspeaker last asked for sound."""
        self._said_s = float("-inf")
        self._lost_s = clock.now_s()
        self._rated = Rated(RATE_HZ, clock.now_s())
        self._own_rate = False
        """The device has to be asked at its own usual rate: it does not keep to ours."""
        self._next_try_s = clock.now_s()
        self.keep_open()

    @property
    def named(self) -> str:
        """Which devices were asked for, for the record."""
        microphone, loudspeaker = (name or "the usual one" for name in self._names)
        return f"microphone: {microphone}; loudspeaker: {loudspeaker}"

    @property
    def open(self) -> bool:
        """Whether both run."""
        return not self.fault

    @property
    def speaks(self) -> bool:
        """Whether the loudspeaker runs."""
        runs = self._output is not None and self._output.active
        return runs and self._clock.now_s() - self._asked_s <= STALLED_S

    @property
    def has_enough(self) -> bool:
        """Whether so much waits to be played that whoever speaks has to wait for it."""
        return len(self._to_play) >= ENOUGH_BLOCKS

    def read(self, wait_s: float) -> MicrophoneBlock | None:
        """The next block of the microphone; None when none has come within `wait_s`."""
        deadline_s = self._clock.now_s() + wait_s
        while len(self._pending) < BLOCK_SAMPLES:
            left_s = deadline_s - self._clock.now_s()
            try:
                self._arrived_s, chunk = self._arrived.get(timeout=max(left_s, 0.0))
            except queue.Empty:
                return None
            self._pending = np.concatenate([self._pending, self._to_16_khz(chunk)])
        block, self._pending = self._pending[:BLOCK_SAMPLES], self._pending[BLOCK_SAMPLES:]
        began_s = self._arrived_s - (len(block) + len(self._pending)) / RATE_HZ
        return began_s, block

    def play(self, block: Samples) -> None:
        """Have a block of 16 kHz played after those before it; returns at once.

        Silence is left out while enough waits to be played: after each utterance that took a
        while to read, the blocks of that while come all at once, and would make the loudspeaker
        later and later.
        """
        if self._output is None or (not block.any() and len(self._to_play) >= PREFILL_BLOCKS):
            return
        if block.any():
            self._said_s = self._clock.now_s()
        sound = self._from_16_khz(block)
        with self._lock:
            self._to_play.append(sound)

    def forget(self) -> None:
        """Leave out what the microphone has delivered so far, while nobody read it."""
        self._pending = silence(0)
        while not self._arrived.empty():
            self._arrived.get_nowait()

    def keep_open(self) -> None:
        """Open what is not open; call it often, it is cheap.

        A fault shows for one call at least, so that somebody can tell of it.
        """
        now_s = self._clock.now_s()
        was_open = self.open
        if self.open and now_s - self._last_sound_s > SILENT_S:
            self.fault = "the microphone delivers nothing"
        if self.open and not all(one and one.active for one in (self._input, self._output)):
            self.fault = "the sound device has gone"
        if self.open and not self.speaks:
            self.fault = "the loudspeaker takes no sound"
        if self.open and not self._own_rate and self._rated.is_wrong(now_s, self.overruns):
            self.fault = "the microphone delivers sound at another rate than it says"
            self._own_rate = True
        if was_open:
            self._lost_s = now_s
            return
        # Opening anew would cut short what is being said of it.
        says_so = self.speaks and now_s - self._said_s < SAID_S
        if now_s >= self._next_try_s and (not says_so or now_s - self._lost_s >= LONGEST_SAID_S):
            self._open()
            self._next_try_s = self._clock.now_s() + RETRY_S

    def close(self) -> None:
        """Let the devices go."""
        for device in (self._input, self._output):
            if device is not None:
                device.close()
        self._input = self._output = None

    def _open(self) -> None:
        self.close()
        try:
            look_again()
            self._open_loudspeaker()
            self._open_microphone()
        except DeviceFault as fault:
            missing = (str(fault), *self._no_microphone())
            self.fault = "; ".join(dict.fromkeys(missing))
            return
        self.fault = ""
        self._last_sound_s = self._clock.now_s() + FIRST_SOUND_S - SILENT_S

    def _no_microphone(self) -> list[str]:
        """That there is none either, where it was not tried for want of a loudspeaker."""
        try:
            if self._output is None:
                look_for("input", self._names[0])
        except DeviceFault as fault:
            return [str(fault)]
        return []

    def _open_microphone(self) -> None:
        self.forget()  # what it had from before it was lost
        microphone = open_microphone(self._names[0], self._take, own_rate=self._own_rate)
        self._rated = Rated(microphone.rate_hz, self._clock.now_s() + FIRST_SOUND_S)
        self._to_16_khz = Resampler(microphone.rate_hz, RATE_HZ)
        self._input = microphone

    def _open_loudspeaker(self) -> None:
        with self._lock:
            self._to_play.clear()
            self._to_play.extend([silence(BLOCK_S)] * PREFILL_BLOCKS)
            self._playing = silence(0)
        loudspeaker = open_loudspeaker(self._names[1], self._give)
        self._from_16_khz = Resampler(RATE_HZ, loudspeaker.rate_hz)
        self._asked_s = self._clock.now_s() + FIRST_SOUND_S - STALLED_S
        self._output = loudspeaker

    def _take(self, chunk: Samples, lost: bool) -> None:
        """PortAudio's thread: only hand over."""
        if lost:
            self.overruns += 1
        self._last_sound_s = self._clock.now_s()
        self._rated.took(len(chunk))
        try:
            self._arrived.put_nowait((self._last_sound_s, chunk))
        except queue.Full:
            self.overruns += 1

    def _give(self, buffer: Samples) -> None:
        """PortAudio's thread: play what there is, silence where there is nothing."""
        self._asked_s = self._clock.now_s()
        filled = 0
        with self._lock:
            while filled < len(buffer) and (len(self._playing) or self._to_play):
                if not len(self._playing):
                    self._playing = self._to_play.popleft()
                piece = self._playing[: len(buffer) - filled]
                buffer[filled : filled + len(piece)] = piece
                self._playing = self._playing[len(piece) :]
                filled += len(piece)
