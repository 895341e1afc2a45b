"""Opening a case, or going on with one that was cut short."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.clock import Clock, ShiftedClock, boot_id, read_wall
from assistant.conversation.parts import ResumedCase
from assistant.errors import BadInput
from assistant.journal.boots import boot_row, boots
from assistant.journal.folder import KEPT_SITE
from assistant.journal.journal import Journal, read_case
from assistant.journal.rows import Row
from assistant.journal.settings import read_record_settings
from assistant.journal.sound_keeper import SoundKeeper
from assistant.site.site import Site, read_site


@dataclass(frozen=True, slots=True)
class OpenCase:
    """A case with all that a conversation needs to have it."""

    site: Site
    clock: ShiftedClock
    journal: Journal
    resumed: ResumedCase | None = None
    """None for a new case."""
    sounds: SoundKeeper | None = None
    """Where the site keeps sound."""


def open_case(folder: Path, site: Site, clock: Clock) -> OpenCase:
    """A new case in a folder that `new_case` has made."""
    shifted = ShiftedClock(clock, 0.0)
    journal = Journal(folder, shifted, site.brief.name)
    return OpenCase(site, shifted, journal, sounds=_sounds(folder))


def resume_case(folder: Path, clock: Clock) -> OpenCase:
    """The case in a folder, where its record left it, with the site's files as they were then.

    Raises BadInput when the record, or a file of the site, cannot be read; nothing is written then.
    """
    meta, past = read_case(folder)
    boot, shift_s = [(meta.boot, 0.0), *boots(past).items()][-1]
    rebooted = boot != boot_id()
    last_s = max((row.mono_s for row in past), default=meta.started_mono_s)
    away_s: float | None = clock.now_s() + shift_s - last_s
    if rebooted:
        # Where nobody knows, as if no time had passed: what matters is that it never steps back.
        away_s = _switched_off_for_s(past)
        shift_s = last_s + (away_s or 0.0) - clock.now_s()
    shifted = ShiftedClock(clock, shift_s)
    site = read_site(folder / KEPT_SITE)
    journal = Journal(folder, shifted, None)
    if rebooted:
        # Killed once more in this run of the machine, the case goes on by the same clock.
        journal.append(
            "assistant",
            "event",
            "another run of the machine",
            data=boot_row(boot_id(), shift_s),
        )
    return OpenCase(
        site=site,
        clock=shifted,
        journal=journal,
        resumed=ResumedCase(past, rebooted, away_s),
        sounds=_sounds(folder),
    )


def _sounds(folder: Path) -> SoundKeeper | None:
    """By the record.yaml that is kept with the case; one that cannot be read keeps no sound."""
    try:
        settings = read_record_settings(folder / KEPT_SITE)
    except BadInput:
        return None
    return SoundKeeper(folder) if settings is not None and settings.keep_sound else None


def _switched_off_for_s(past: Sequence[Row]) -> float | None:
    """Since the last row, by the wall clock where that can be trusted at both ends; else None."""
    wall = read_wall()
    if not past or not (past[-1].wall_trusted and wall.trusted):
        return None
    away = datetime.fromisoformat(wall.at) - datetime.fromisoformat(past[-1].wall)
    return away.total_seconds() if away.total_seconds() >= 0 else None
