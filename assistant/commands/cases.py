"""`spoken-brief cases`: which cases are kept; one exported or removed whole; old ones removed."""

import argparse
from pathlib import Path

from assistant.clock import read_wall
from assistant.commands.options import add_cases, add_site, named_case
from assistant.errors import BadInput
from assistant.journal.keeping import (
    export_case,
    finish_removals,
    kept_cases,
    remove_case,
    remove_older,
)
from assistant.journal.kept_sounds import remove_sounds_older
from assistant.journal.settings import wanted_settings

DESCRIPTION = (
    "Lists the cases that are kept. A whole case can be exported into an archive, or removed. "
    "With --keep-days all older ones are removed, but none whose age is uncertain."
)

THE_SITES = object()
"""In place of a number of days, where none is given."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    add_cases(parser)
    what = parser.add_mutually_exclusive_group()
    what.add_argument(
        "--export",
        nargs=2,
        type=Path,
        metavar=("CASE", "FILE"),
        help="write all of a case into a new archive (zip) and keep the case",
    )
    what.add_argument("--remove", type=Path, metavar="CASE", help="remove all of a case, for good")
    what.add_argument(
        "--keep-days",
        nargs="?",
        type=int,
        const=THE_SITES,
        metavar="N",
        help="remove, for good, the cases that began more than N days ago; without N the site's "
        "record.yaml says how many, for sound separately",
    )
    add_site(parser)


def run(arguments: argparse.Namespace) -> int:
    """Do one of these."""
    cases: Path = arguments.cases
    if arguments.export is not None:
        named, path = arguments.export
        export_case(named_case(cases, named), path)
        print(f"Written: {path}")
    elif arguments.remove is not None:
        case = named_case(cases, arguments.remove)
        remove_case(case)
        print(f"Removed: {case}")
    elif arguments.keep_days is not None:
        if arguments.keep_days is THE_SITES:
            settings = wanted_settings(arguments.site)
            _keep(cases, settings.keep_days)
            _keep_sound(cases, settings.keep_sound_days)
        else:
            _keep(cases, arguments.keep_days)
    else:
        _list(cases)
    return 0


def _keep(cases: Path, days: int) -> None:
    if days < 1:
        raise BadInput(f"--keep-days: found {days}; allowed: 1 or more.")
    now = read_wall()
    removed, unknown = remove_older(cases, days, now)
    finish_removals(cases)
    print(f"Removed: {', '.join(removed) or 'none'}")
    if unknown and not now.trusted:
        print("This machine's clock is not synchronised: no case's age is sure, and all are kept.")
    elif unknown:
        print(
            "Kept, because they began by a clock that was not synchronised, to be removed by name: "
            f"{', '.join(unknown)}"
        )


def _keep_sound(cases: Path, days: int | None) -> None:
    if days is not None:
        removed = remove_sounds_older(cases, days, read_wall())
        print(f"Removed the sound of: {', '.join(removed) or 'none'}")


def _list(cases: Path) -> None:
    for one in kept_cases(cases):
        site = "its record cannot be read" if one.meta is None else one.meta.site
        going_on = ", going on" if one.at_hand else ""
        print(f"{one.folder.name:<24} {one.size_bytes / 1e6:>8.1f} MB  {site}{going_on}")
