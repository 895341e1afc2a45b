"""`spoken-brief card`: the site's drug card for one patient."""

import argparse
import sys
from pathlib import Path

from assistant.commands.dose import figure
from assistant.commands.options import add_site
from assistant.dosing.card import card
from assistant.dosing.patient import Patient
from assistant.dosing.weights import Sex
from assistant.errors import BadInput
from assistant.files.named_files import to_write
from assistant.site.site import read_site

DESCRIPTION = (
    "Every dose of the site's formulary for one confirmed patient, as one plain "
    "HTML page. Check each against the label in hand."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    parser.add_argument("--weight-kg", required=True, metavar="KG")
    parser.add_argument("--height-cm", metavar="CM")
    parser.add_argument("--age-years", metavar="YEARS")
    parser.add_argument("--frail", action="store_true", help="for a frail or debilitated patient")
    parser.add_argument("--sex", choices=[sex.value for sex in Sex])
    parser.add_argument(
        "--out", type=Path, metavar="FILE", help="where to write it (default: standard output)"
    )
    add_site(parser)


def run(arguments: argparse.Namespace) -> int:
    """Write the page."""
    formulary = read_site(arguments.site).formulary
    patient = Patient(
        weight_kg=figure("--weight-kg", arguments.weight_kg),
        height_cm=figure("--height-cm", arguments.height_cm) if arguments.height_cm else None,
        sex=Sex(arguments.sex) if arguments.sex else None,
        age_years=int(figure("--age-years", arguments.age_years)) if arguments.age_years else None,
        frail=arguments.frail,
    )
    page = card(formulary, patient)
    out: Path | None = arguments.out
    if out is None:
        sys.stdout.write(page)
        return 0
    try:
        to_write(out, "a file").write_text(page, encoding="utf-8")
    except OSError as fault:
        raise BadInput.in_file(
            out, found=f"a place that cannot be written ({fault.strerror})", allowed="a file"
        ) from fault
    print(f"Drug card: {out}")
    return 0
