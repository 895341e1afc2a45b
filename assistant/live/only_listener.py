"""One listener for a folder of cases: two would both write the record of one case."""

import fcntl
import os
from contextlib import suppress
from pathlib import Path

from assistant.errors import BadInput
from assistant.journal.at_hand import made_memory

LOCK_NAME = ".listener"


def only_listener(cases: Path) -> int:
    """Be the one listener for these cases until this process ends, however it does.

    The lock is a file beside the cases, or in the machine's memory where the disk takes none.
    Returns its descriptor. Raises BadInput when another listens, or there is room for it nowhere.
    """
    with suppress(OSError):
        cases.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        try:
            lock = _opened(cases)
        except OSError:
            lock = _opened(made_memory(cases))
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as fault:
        raise BadInput(
            f"{cases}: found a listener that has these cases in hand; allowed: one."
        ) from fault
    except OSError as fault:
        raise BadInput.in_file(
            cases, found=f"a folder that cannot be used ({fault.strerror})", allowed="one for cases"
        ) from fault
    return lock


def _opened(folder: Path) -> int:
    return os.open(folder / LOCK_NAME, os.O_RDONLY | os.O_CREAT | os.O_NOFOLLOW, 0o600)
