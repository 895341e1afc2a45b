"""The folder at hand, for whoever may not wait for a disk: the watcher asks at every step."""

import threading
import time
from contextlib import suppress
from pathlib import Path

from assistant.journal.at_hand import folder_at_hand

LOOKED_UP_EVERY_S = 0.1


class Following:
    """Looks it up in a thread of its own, which may hang as long as the disk does."""

    def __init__(self, cases: Path) -> None:
        """The first look is waited for. Raises OSError when there is room for a folder nowhere."""
        self._cases = cases
        self._folder = folder_at_hand(cases)
        threading.Thread(target=self._follow, name="case-at-hand", daemon=True).start()

    def __call__(self) -> Path:
        """The folder as it was seen last; never waits.

        Where there is room for no folder any more, it stays what it was.
        """
        return self._folder

    def _follow(self) -> None:
        while True:
            time.sleep(LOOKED_UP_EVERY_S)
            with suppress(OSError, RuntimeError):
                self._folder = folder_at_hand(self._cases)
