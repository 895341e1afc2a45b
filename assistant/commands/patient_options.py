"""The options that describe the patient of a dose on paper."""

import argparse
from contextlib import suppress
from decimal import Decimal, InvalidOperation

from assistant.dosing.patient import Patient
from assistant.dosing.weights import Sex
from assistant.errors import BadInput


def add_patient(parser: argparse.ArgumentParser) -> None:
    """Weight, height, age, frailty and sex; only the weight must be given."""
    parser.add_argument("--weight-kg", required=True, metavar="KG")
    parser.add_argument("--height-cm", metavar="CM")
    parser.add_argument("--age-years", metavar="YEARS")
    parser.add_argument("--frail", action="store_true", help="for a frail or debilitated patient")
    parser.add_argument("--sex", choices=[sex.value for sex in Sex])


def patient_of(arguments: argparse.Namespace, *, low_pressure: bool = False) -> Patient:
    """The patient that was given. Raises BadInput for a figure that is not a number."""
    return Patient(
        weight_kg=_figure("--weight-kg", arguments.weight_kg),
        height_cm=_figure("--height-cm", arguments.height_cm) if arguments.height_cm else None,
        sex=Sex(arguments.sex) if arguments.sex else None,
        age_years=int(_figure("--age-years", arguments.age_years)) if arguments.age_years else None,
        frail=arguments.frail,
        low_pressure=low_pressure,
    )


def _figure(option: str, text: str) -> Decimal:
    with suppress(InvalidOperation):
        number = Decimal(text)
        if number.is_finite():
            return number
    raise BadInput(f"{option}: found {text!r}; allowed: a number.")
