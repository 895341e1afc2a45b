"""What is wrong with the microphone's line, told from its sound alone.

Nothing here changes the sound: it is for telling somebody, in words, what to mend.
"""

from collections import deque
from enum import Enum

import numpy as np

from assistant.audio.levels import is_clipped, is_dead, is_faint, is_humming
from assistant.audio.sound import BLOCK_S, Samples

_KEPT_BLOCKS = round(4.0 / BLOCK_S)
"""The line is judged over the last 4 s."""


class LineFault(Enum):
    """What can be wrong; the value is how it is said."""

    DEAD = "the microphone gives no sound at all"
    CLIPPED = "the sound is too loud and clipped: turn the microphone down"
    HUM = "the line hums: look for a loose plug or a mains lead beside it"
    FAINT = "the voice is faint: bring the microphone nearer or turn it up"


class LineCheck:
    """Watches the last seconds of a line. Feed it every block, and each voice that was found."""

    def __init__(self) -> None:
        self._blocks: deque[Samples] = deque(maxlen=_KEPT_BLOCKS)
        self._faint = False

    def feed(self, block: Samples) -> None:
        """Take the next block of the stream."""
        self._blocks.append(block)

    def voice(self, samples: Samples) -> None:
        """Take one utterance, as the end-pointer cut it."""
        self._faint = is_faint(samples)

    @property
    def faults(self) -> tuple[LineFault, ...]:
        """What is wrong now; empty when nothing is, or when less than 4 s were heard."""
        if len(self._blocks) < _KEPT_BLOCKS:
            return ()
        heard = np.concatenate(self._blocks)
        if is_dead(heard):
            return (LineFault.DEAD,)
        found = {
            LineFault.CLIPPED: is_clipped(heard),
            LineFault.HUM: is_humming(heard),
            LineFault.FAINT: self._faint,
        }
        return tuple(fault for fault, is_so in found.items() if is_so)
