"""The simulated room's loudspeakers: sound that is pulled block by block."""

import numpy as np

from assistant.clock import Clock
from assistant.sound import RATE_HZ, Samples, silence


class RoomSpeaker:
    """The watcher's loudspeaker in the simulated room."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._rest = silence(0)

    def say(self, samples: Samples) -> float:
        """Start now; returns when it will have been said, in s on the rehearsal's clock."""
        self._rest = samples
        return self._clock.now_s() + len(samples) / RATE_HZ

    def pull(self, samples: int) -> Samples:
        """The next block, shape (samples,)."""
        piece, self._rest = self._rest[:samples], self._rest[samples:]
        return np.pad(piece, (0, samples - len(piece)))
