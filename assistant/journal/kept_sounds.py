"""What a case's rows tell of the sound that is kept with it, and its removal before the case's."""

from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path

from assistant.clock import WallReading
from assistant.journal.journal import Journal, look_on
from assistant.journal.keeping import kept_cases
from assistant.journal.rows import Row

FOLDER = "sound"
NOT_KEPT, REMOVED = "sound-not-kept", "sound-removed"
"""Keys of the rows that tell of a file that could not be written, and of all that were removed."""


def kept_sounds(rows: Iterable[Row]) -> dict[str, str]:
    """The files that rows name, each with its hash; those of which a row says that they could not
    be written, or were removed, are left out."""
    found: dict[str, str] = {}
    for row in rows:
        sound = row.data.get("sound")
        if isinstance(sound, dict):
            found[str(sound.get("file"))] = str(sound.get("sha256"))
        found.pop(str(row.data.get(NOT_KEPT)), None)
        if REMOVED in row.data:
            found.clear()
    return found


def remove_sounds_older(cases: Path, days: int, now: WallReading) -> list[str]:
    """Remove the sound of the cases that began more than so many days ago; return their names.

    Each says so in a row of its own: what is gone was not lost. Cut short, it is finished by the
    next removal. Raises BadInput and OSError.
    """
    removed = []
    for one in kept_cases(cases):
        age, sounds = one.age(now), one.folder / FOLDER
        if one.at_hand or age is None or age <= timedelta(days=days) or not sounds.is_dir():
            continue
        files = list(sounds.iterdir())
        for file in files:
            file.unlink()
        _tell_removal(one.folder, len(files))
        sounds.rmdir()  # the last: while it is there, the removal is not finished
        removed.append(one.folder.name)
    return removed


class _Stopped:
    """The clock of a case that is over: its last row's time."""

    def __init__(self, name: str, at_s: float) -> None:
        self.name = name
        self._at_s = at_s

    def now_s(self) -> float:
        return self._at_s


def _tell_removal(case: Path, count: int) -> None:
    meta, rows = look_on(case, 0)
    last_s = rows[-1].mono_s if rows else meta.started_mono_s
    journal = Journal(case, _Stopped(meta.clock, last_s), None)
    text = "the sound was removed, as its time was over"
    journal.append("assistant", "event", text, data={REMOVED: count})
    journal.close()
