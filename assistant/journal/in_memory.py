"""Cases in the machine's memory, where the disk takes none: begun there, and brought home."""

import os
import shutil
import sqlite3
import time
from pathlib import Path
from tempfile import TemporaryFile

from assistant.errors import BadInput
from assistant.files.disk import sync_file, sync_folder
from assistant.files.rows_read_back import copy_rows
from assistant.journal.at_hand import IDLE, lay_down, made_memory, memory_of, take_in_hand
from assistant.journal.journal import FILE_NAME, read_meta
from assistant.journal.keeping import GOING, finish_removals

_BRINGING = ".bringing-"
"""Before the name of a case that is being copied to the disk."""
ROOM_BYTES = 262_144
"""What a case needs on the disk to begin with."""
LETS_GO_S = 1.0
"""So long whoever looks at a case has to see that it is over: the watcher looks every 0.02 s, and
who follows it every 0.5 s."""


def takes_records(cases: Path) -> bool:
    """Whether the disk takes what a case begins with.

    Raises BadInput when it is no folder for cases that is named: no other disk would mend that.
    """
    try:
        cases.mkdir(mode=0o700, parents=True, exist_ok=True)
        with TemporaryFile(dir=cases) as file:  # without a name: nothing of it is ever left
            file.write(bytes(ROOM_BYTES))
            file.flush()
            os.fsync(file.fileno())
    except (FileExistsError, NotADirectoryError) as fault:
        raise BadInput.in_file(
            cases, found="something that is no folder", allowed="a folder for cases"
        ) from fault
    except OSError:
        return False
    return True


def settle(cases: Path, at_hand: Path | None) -> bool:
    """Have all on the disk if that takes records, else what is written from now on in memory.

    `at_hand` is the case that goes on, if one does; no conversation may be writing it just now.
    Returns whether all is on the disk. Raises OSError when not even memory has room.
    """
    if takes_records(cases):
        homes = _bring_home(cases, at_hand)
        if homes is not None:
            if at_hand is None:
                lay_down(cases)
            else:
                take_in_hand(cases, homes.get(at_hand, at_hand))
            return True
    memory = made_memory(cases)
    now = memory / (IDLE if at_hand is None else at_hand.name)
    if at_hand is None:
        now.mkdir(mode=0o700, exist_ok=True)
    elif at_hand.parent != memory:
        shutil.rmtree(now, ignore_errors=True)  # of a copy that was cut short
        _copy(at_hand, now)
    take_in_hand(cases, now)
    return False


def _bring_home(cases: Path, at_hand: Path | None) -> dict[Path, Path] | None:
    """Put what is in memory among the others, each whole or not at all.

    Returns where each is now; None when not all could be brought.
    """
    memory = memory_of(cases)
    waiting = [one.parent for one in memory.glob(f"*/{FILE_NAME}") if not one.parent.is_symlink()]
    try:
        _finish(cases)
        if waiting and (at_hand is None or at_hand in waiting):
            take_in_hand(cases, memory / IDLE)
            time.sleep(LETS_GO_S)
        # The one at hand is the last: while any is left, it is where it was.
        return {one: _bring(one, cases) for one in sorted(waiting, key=lambda one: one == at_hand)}
    except OSError:
        return None


def _bring(case: Path, cases: Path) -> Path:
    beside, home = cases / f"{_BRINGING}{case.name}", cases / case.name
    try:
        _copy(case, beside)
    except OSError:
        shutil.rmtree(beside, ignore_errors=True)
        raise
    if _same_case(home, case):  # as far as it had come when the disk took no more
        home.rename(cases / f"{GOING}{case.name}")
    while home.exists():
        home = home.with_name(f"{home.name}-2")
    beside.rename(home)
    sync_folder(cases)
    finish_removals(cases)
    shutil.rmtree(case)
    return home


def _same_case(one: Path, other: Path) -> bool:
    try:
        return read_meta(one) == read_meta(other)
    except BadInput:
        return False


def _finish(cases: Path) -> None:
    """What a power cut left on its way is put in its place as far as it came, unless the case is
    there."""
    for beside in cases.glob(f"{_BRINGING}*"):
        home = cases / beside.name.removeprefix(_BRINGING)
        if home.exists() or (memory_of(cases) / home.name).exists():
            shutil.rmtree(beside)
        else:
            beside.rename(home)


def _copy(case: Path, to: Path) -> None:
    """All of a case, on disk when this returns; what another process writes meanwhile is whole.

    Raises OSError.
    """
    shutil.copytree(case, to, ignore=shutil.ignore_patterns("*.sqlite*", "*.sock"))
    for base in case.glob("*.sqlite"):
        try:
            copy_rows(base, to / base.name)
        except sqlite3.Error:  # it is damaged, and is kept as it is
            shutil.copyfile(base, to / base.name)
    for file in to.rglob("*"):
        if file.is_file():
            sync_file(file)
    sync_folder(to)
