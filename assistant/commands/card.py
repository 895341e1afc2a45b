"""`spoken-brief card`: the site's drug card for one patient."""

import argparse
import sys
from pathlib import Path

from assistant.commands.options import add_site
from assistant.commands.patient_options import add_patient, patient_of
from assistant.dosing.card import card
from assistant.files.named_files import FOR_ALL, write_whole
from assistant.site.site import read_site

DESCRIPTION = (
    "Writes every dose of the site's formulary for one patient as one plain HTML page. "
    "Check each against the label in hand."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    add_patient(parser)
    parser.add_argument(
        "--out", type=Path, metavar="FILE", help="where to write it (default: standard output)"
    )
    add_site(parser)


def run(arguments: argparse.Namespace) -> int:
    """Write the page."""
    formulary = read_site(arguments.site).formulary
    page = card(formulary, patient_of(arguments))
    out: Path | None = arguments.out
    if out is None:
        sys.stdout.write(page)
        return 0
    write_whole(out, page.encode(), mode=FOR_ALL)
    print(f"Drug card: {out}")
    return 0
