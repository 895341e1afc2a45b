"""Options that several commands share."""

import argparse
import os
from collections.abc import Iterable
from pathlib import Path

from assistant.errors import BadInput
from assistant.journal.at_hand import CURRENT, case_at_hand
from assistant.journal.folder import default_cases
from assistant.journal.keeping import newest_case

LAST = "last"
"""In place of a case's name: the newest."""


def shipped_configs() -> Path:
    """The configs folder of the checkout, or the one that SPOKEN_BRIEF_CONFIGS names."""
    named = os.environ.get("SPOKEN_BRIEF_CONFIGS")
    return Path(named) if named else Path(__file__).parents[2] / "configs"


def add_site(parser: argparse.ArgumentParser) -> None:
    """`--site DIR`."""
    parser.add_argument(
        "--site",
        type=Path,
        metavar="DIR",
        default=shipped_configs() / "tarn-hollow",
        help="the site's folder of YAML files (default: the example site, Tarn Hollow)",
    )


def add_cases(parser: argparse.ArgumentParser) -> None:
    """`--cases DIR`."""
    parser.add_argument(
        "--cases",
        type=Path,
        metavar="DIR",
        default=default_cases(),
        help="the folder that holds the cases (default: %(default)s)",
    )


def check_item(item: str, items: Iterable[str]) -> None:
    """Raises BadInput when `--item` names none of these."""
    names = list(items)
    if item not in names:
        allowed = f"an item of the brief: {', '.join(names)}"
        raise BadInput(f"--item: found {item!r}; allowed: {allowed}.")


def named_case(cases: Path, named: Path) -> Path:
    """A case's folder, or the one of that name among the cases.

    Raises BadInput for `current` when no case is open.
    """
    among = cases / named
    if named == Path(CURRENT):
        at_hand = case_at_hand(cases)
        if at_hand is None:
            raise BadInput(
                f"{among}: found no case that is open; allowed: a case's name or folder."
            )
        return at_hand
    return among if among.is_dir() and not named.exists() else named


def named_case_or_last(cases: Path, named: Path) -> Path:
    """The same, and `last` for the newest case: the one that is open, or the last that ended."""
    if named != Path(LAST):
        return named_case(cases, named)
    newest = newest_case(cases)
    if newest is None:
        raise BadInput(f"{cases / named}: found no case at all; allowed: a case's name or folder.")
    return newest
