"""The simulated room's loudspeakers: sound that is pulled block by block."""

import numpy as np

from assistant.audio.devices import DeviceFault, open_loudspeaker
from assistant.audio.resampling import Resampler
from assistant.audio.sound import RATE_HZ, Samples, silence
from assistant.clock import Clock
from assistant.errors import BadInput


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
        block = np.zeros(samples, np.int16)
        block[: len(piece)] = piece
        return block


class Player:
    """Plays the simulated room on the machine's own loudspeaker, block by block."""

    def __enter__(self) -> "Player":
        """Raises BadInput when there is no loudspeaker."""
        try:
            self._loudspeaker = open_loudspeaker(None)
        except DeviceFault as fault:
            raise BadInput(
                f"There is no loudspeaker to play on ({fault}); allowed: no --play."
            ) from fault
        self._at_its_rate = Resampler(RATE_HZ, self._loudspeaker.rate_hz)
        return self

    def __exit__(self, *_: object) -> None:
        self._loudspeaker.close()

    def play(self, block: Samples) -> None:
        """Hand over one block; waits while the device is still busy with the ones before."""
        self._loudspeaker.write(self._at_its_rate(block))
