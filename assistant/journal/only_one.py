"""One process of a kind for a folder of cases."""

import fcntl
from collections.abc import Callable
from pathlib import Path

from assistant.errors import BadInput


def only_one(cases: Path, opened: Callable[[], int], who: str) -> int:
    """Lock what `opened` opens until this process ends, however it does; return its descriptor.

    `who` is what the one is called that has it already, for the sentence about that. Raises
    BadInput when it is locked, or cannot be opened.
    """
    try:
        lock = opened()
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as fault:
        raise BadInput(f"{cases}: found a {who}; allowed: one.") from fault
    except OSError as fault:
        raise BadInput.in_file(
            cases, found=f"a folder that cannot be used ({fault.strerror})", allowed="one for cases"
        ) from fault
    return lock
