"""`spoken-brief dose`: one calculation as text."""

import argparse
import json
from typing import Any

from assistant.commands.options import add_site
from assistant.commands.patient_options import add_patient, patient_of
from assistant.dosing.answers import DoseAnswer
from assistant.dosing.doses import dose_of
from assistant.dosing.drugs import Acts
from assistant.dosing.formulary import Entry, Formulary
from assistant.dosing.units import amount_in, plain, written
from assistant.errors import BadInput
from assistant.language.tongue import Tongue
from assistant.site.site import read_site

DESCRIPTION = "Gives the same answer as the spoken one. Check it against the label in hand."


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    parser.add_argument(
        "drug", metavar="DRUG", help='as people ask for it: "rocuronium", "propofol infusion"'
    )
    add_patient(parser)
    parser.add_argument(
        "--low-pressure",
        action="store_true",
        help="for a patient whose blood pressure is low: the drug's separate dose, if it has one",
    )
    parser.add_argument("--json", action="store_true", help="all of it as one JSON object")
    add_site(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the sentence, the working, the source and what to mind."""
    site = read_site(arguments.site)
    formulary, tongue = site.formulary, site.wording.tongue
    entry = _entry(formulary, arguments.drug.lower())
    patient = patient_of(arguments, low_pressure=arguments.low_pressure)
    answer = dose_of(
        entry.drug,
        patient,
        adults=formulary.adults,
        syringes=formulary.syringes,
        indication=entry.indication.id,
        tongue=tongue,
    )
    if arguments.json:
        print(json.dumps(_as_json(answer, tongue), ensure_ascii=False, indent=1))
        return 0
    print(answer.written())
    if arguments.low_pressure and not answer.low_pressure:
        print("There is no separate dose for low pressure: this is the usual one.")
    if answer.drawn_up():
        print(f"Drawn up: {answer.drawn_up()}")
    for check in answer.indication.ask_before:
        print(f"Before: {check.ask}")
    print(f"Acts: {_acts(answer.indication.acts)}")
    print(f"Working: {answer.working}")
    print(f"Source: {answer.source}")
    for caution in answer.cautions:
        print(f"Caution: {caution}")
    return 0


def _entry(formulary: Formulary, name: str) -> Entry:
    keys = {words: key for words, key, _ in formulary.names()}
    keys |= {drug.id: drug.id for drug in formulary.drugs}
    if name not in keys:
        known = ", ".join(sorted(keys))
        raise BadInput(f"{name!r} is not on this formulary; allowed: {known}.")
    return formulary.entry(keys[name])


def _acts(acts: Acts) -> str:
    return f"after {acts.onset}, for {acts.lasts} ({acts.source}; {acts.status.value})"


def _as_json(answer: DoseAnswer, tongue: Tongue) -> dict[str, Any]:
    """Amounts are exact decimals and therefore strings; each names its unit."""
    use = answer.indication
    volume_unit = "mL/h" if use.dose.infusion else "mL"
    return {
        "drug": answer.drug_id,
        "indication": use.id,
        "use": use.use.value,
        "route": use.route.value,
        "low_pressure": answer.low_pressure,
        "for_age": answer.reduced and answer.for_age,
        "for_frailty": answer.reduced and not answer.for_age,
        "weight_kg": None if answer.weight_kg is None else plain(answer.weight_kg),
        "weight_kind": None if answer.weight_kind is None else answer.weight_kind.value,
        "dose": plain(amount_in(answer.dose, use.dose.given_unit)),
        "dose_unit": use.dose.given_unit,
        "volume": plain(amount_in(answer.volume, volume_unit)),
        "volume_unit": volume_unit,
        "strength": written(answer.strength),
        "vials": answer.vials,
        "mixes": answer.mixes,
        "syringe_ml": None if answer.syringe_ml is None else plain(answer.syringe_ml),
        "capped": answer.capped,
        "rounded": answer.rounded,
        "spoken": answer.spoken(tongue),
        "written": answer.written(),
        "working": answer.working,
        "source": answer.source,
        "ask_before": [check.ask for check in use.ask_before],
        "acts": _acts(use.acts),
        "cautions": list(answer.cautions),
    }
