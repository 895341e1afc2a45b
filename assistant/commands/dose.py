"""`spoken-brief dose`: one calculation as text."""

import argparse
from contextlib import suppress
from decimal import Decimal, InvalidOperation
from typing import Any

from assistant.commands.options import add_site
from assistant.dosing.doses import dose_of
from assistant.dosing.weights import Sex
from assistant.errors import BadInput
from assistant.site.site import load_site


def add_to(commands: Any) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "dose",
        help="work out one dose, with its working and its source",
        description="The same answer as the spoken one. Check it against the label in hand.",
    )
    parser.add_argument("drug", metavar="DRUG", help="by its generic name")
    parser.add_argument("--weight-kg", required=True, metavar="KG")
    parser.add_argument("--height-cm", metavar="CM")
    parser.add_argument("--sex", choices=[sex.value for sex in Sex])
    add_site(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the sentence, the working and the source."""
    formulary = load_site(arguments.site).formulary
    found = [drug for drug in formulary.drugs if arguments.drug.lower() in (drug.id, *drug.names())]
    if not found:
        known = ", ".join(drug.id for drug in formulary.drugs)
        raise BadInput(f"{arguments.drug!r} is not on this formulary; allowed: {known}.")
    answer = dose_of(
        found[0],
        _figure("--weight-kg", arguments.weight_kg),
        adults=formulary.adults,
        height_cm=arguments.height_cm and _figure("--height-cm", arguments.height_cm),
        sex=Sex(arguments.sex) if arguments.sex else None,
    )
    print(answer.written())
    print(f"Working: {answer.working}")
    print(f"Source: {answer.source}")
    return 0


def _figure(option: str, text: str) -> Decimal:
    with suppress(InvalidOperation):
        figure = Decimal(text)
        if figure.is_finite():
            return figure
    raise BadInput(f"{option}: found {text!r}; allowed: a number.")
