"""One listener for a folder of cases: two would both write the record of one case."""

import os
from contextlib import suppress
from pathlib import Path

from assistant.journal.at_hand import made_memory
from assistant.journal.only_one import only_one

LOCK_NAME = ".listener"


def only_listener(cases: Path) -> int:
    """Be the one listener for these cases until this process ends, however it does.

    The lock is a file beside the cases, or in the machine's memory where the disk takes none.
    Returns its descriptor. Raises BadInput when another listens, or there is room for it nowhere.
    """
    with suppress(OSError):
        cases.mkdir(mode=0o700, parents=True, exist_ok=True)
    return only_one(cases, lambda: _opened(cases), "listener that has these cases in hand")


def _opened(cases: Path) -> int:
    try:
        return _lock_file(cases)
    except OSError:
        return _lock_file(made_memory(cases))


def _lock_file(folder: Path) -> int:
    return os.open(folder / LOCK_NAME, os.O_RDONLY | os.O_CREAT | os.O_NOFOLLOW, 0o600)
