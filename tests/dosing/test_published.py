"""Every figure of the demonstration formulary against a second copy of it with its sources.

A figure that is changed in the formulary, by a slip of a decimal point or by a fifth, is refused
when the file is read or differs from this copy.
"""

import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml

from assistant.dosing.drugs import Dose, Drug
from assistant.dosing.formulary import Formulary, faults
from assistant.dosing.preparations import Recipe
from assistant.dosing.sourced import Between, Status
from assistant.dosing.units import plain

# Copied figure by figure from the sources named, not from the formulary. US prescribing
# information ("label"), adults, intravenous, unless named otherwise; (q) read in a page that quotes
# it, (m) from memory. After "|" the dose for a low pressure: common practice in shock (m), unless
# named. Maxima: the site's usual dose at 150 kg, unless named. How long: (m) unless named.
#
# ketamine       label, dosage: 1-4.5 mg/kg; 10, 50, 100 mg/mL; 5-10 min
# etomidate      label: 0.2-0.6, usual 0.3 mg/kg; 2 mg/mL; 30-60 s and 3-5 min (q)
# propofol       label s.2: 2-2.5, 1-1.5 if ill; cardiac 0.5-1.5; ICU 5-50 mcg/kg/min (q);
#                10 mg/mL (m)
# midazolam      label: 0.3-0.35, ill 0.2-0.25, as little as 0.15 (q); infusion 0.02-0.1 mg/kg/h (m)
# fentanyl       label s.2.2 table 1: 2-20 mcg/kg; 50 mcg/mL; infusion SCCM 0.7-10 mcg/kg/h (m)
# hydromorphone  label s.2.4: 0.2-1 mg; s.3: 1, 2, 4 mg/mL, high potency 10
# rocuronium     label: rapid sequence 0.6-1.2 mg/kg (q); s.14.1: 38-160 min at 1.2; 10 mg/mL
# succinylcholine label: 0.3-1.1 mg/kg, block 1 to 2 min, 4-6 min; 20 and 100 mg/mL
# vecuronium     label: 0.08-0.1 mg/kg, 2.5-3 min; 10 mg powder in 10 mL
# sugammadex     label s.2: 16 mg/kg actual weight; 100 mg/mL; 24 h to rocuronium; max at 200 kg
# lidocaine      Anesth Analg 1987;66:1036 (q): 0.75 and 1.5 mg/kg; label: at most 200-300 mg an
#                hour; 2 %
# esmolol        label (q): 0.5 gradual, 1 mg/kg immediate; 10 mg/mL
# atropine       label: 0.5 or 1 mg by manufacturer; 0.1, 0.4, 1 mg/mL
# glycopyrrolate label: 0.1 mg intraoperatively; 0.2 mg/mL
# phenylephrine  label, ready-to-use: 40-100 mcg, up to 200; 100 mcg/mL; vial 10 mg/mL
# epinephrine    published rapid reference on push-dose: 1 mL of 0.1 mg/mL in 10, 5-20 mcg;
#                label s.2.2: 0.05-2 mcg/kg/min
# norepinephrine label s.2.2: 8-12, then 2-4 mcg/min; 1 mg/mL; premixed 4 mg in 250 mL = 16 mcg/mL
# dexmedetomidine label: 0.2-0.7 mcg/kg/h; 2 mL of 100 mcg/mL in 50 mL = 4 mcg/mL
PUBLISHED = {
    "ketamine": "10 50 100 mg",
    "ketamine, vial": "10 mg by 0.2",
    "ketamine/induction": "mg/kg 1-4.5: 1 1.5 2 | 0.5-1: 0.5 0.75 1 | max 225",
    "ketamine/induction, acts": "30-60 s 5-10 min",
    "etomidate": "2 mg",
    "etomidate, vial": "2 mg by 0.2",
    "etomidate/induction": "mg/kg 0.2-0.6: 0.2 0.3 0.3 | 0.1-0.2: 0.15 0.15 0.2 | max 45",
    "etomidate/induction, acts": "30-60 s 3-5 min",
    "propofol": "10 mg",
    "propofol, syringe": "10 mg by 0.2",
    "propofol, pump": "10 mg by 0.1",
    "propofol/induction": "mg/kg 1-2.5: 1 1.5 2 | 0.5-1.5: 0.5 0.75 1 | max 225",
    "propofol/induction, acts": "30-60 s 3-10 min",
    "propofol/sedation": "mcg/kg/min 5-50: 5 20 50 | 5-50: 5 5 20 | max 3000",
    "propofol/sedation, acts": "30-60 s 3-10 min",
    "midazolam": "1 5 mg",
    "midazolam, ampoule": "5 mg by 0.1",
    "midazolam, pump": "1 mg by 0.1; 10 mL of 5 mg to 50",
    "midazolam/induction": "mg/kg 0.15-0.35: 0.15 0.2 0.3 | 0.1-0.25: 0.1 0.1 0.15 | max 30",
    "midazolam/induction, acts": "60-120 s 15-80 min",
    "midazolam/sedation": "mg/kg/h 0.02-0.1: 0.02 0.04 0.1 | 0.02-0.1: 0.02 0.02 0.04 | max 6",
    "midazolam/sedation, acts": "60-120 s 15-80 min",
    "fentanyl": "50 mcg",
    "fentanyl, ampoule": "50 mcg by 0.1",
    "fentanyl, pump": "10 mcg by 0.1; 10 mL of 50 mcg to 50",
    "fentanyl/laryngoscopy": "mcg/kg 2-20: 2 2 3 | 0.5-1: 1 1 1 | max 300",
    "fentanyl/laryngoscopy, acts": "60-180 s 30-60 min",
    "fentanyl/analgesia": "mcg/kg/h 0.7-10: 0.7 1 2 | max 150",
    "fentanyl/analgesia, acts": "60-180 s 30-60 min",
    "hydromorphone": "1 2 4 10 mg",
    "hydromorphone, ampoule": "1 mg by 0.01",
    "hydromorphone/analgesia": "mg 0.2-1: 0.2 0.5 1 | 0.2-1: 0.2 0.2 0.5 | max 1",
    "hydromorphone/analgesia, acts": "300-600 s 120-240 min",
    "rocuronium": "10 mg",
    "rocuronium, vial": "10 mg by 0.1",
    "rocuronium/paralysis": "mg/kg 0.6-1.2: 1 1.2 1.2 | max 180",
    "rocuronium/paralysis, acts": "60-120 s 38-160 min",
    "succinylcholine": "20 100 mg",
    "succinylcholine, vial": "20 mg by 0.1",
    "succinylcholine/paralysis": "mg/kg 0.3-1.1: 1 1.5 1.5 | max 225",
    "succinylcholine/paralysis, acts": "60-120 s 4-6 min",
    "vecuronium": "1 mg",
    "vecuronium, vial": "1 mg by 0.2; powder 10 mg to 10",
    "vecuronium/paralysis": "mg/kg 0.08-0.1: 0.1 0.1 0.1 | max 15",
    "vecuronium/paralysis, acts": "150-180 s 25-40 min",
    "sugammadex": "100 mg",
    "sugammadex, vial": "100 mg by 0.2",
    "sugammadex/immediate-reversal": "mg/kg 16-16: 16 16 16 | max 3200",
    "sugammadex/immediate-reversal, acts": "60-120 s 60-1440 min",
    "lidocaine": "10 20 mg",
    "lidocaine, syringe": "20 mg by 0.1",
    "lidocaine/pretreatment": "mg/kg 0.75-1.5: 1 1.5 1.5 | max 200",
    "lidocaine/pretreatment, acts": "45-90 s 10-20 min",
    "esmolol": "10 20 mg",
    "esmolol, vial": "10 mg by 0.1",
    "esmolol/heart-rate": "mg/kg 0.5-1: 0.5 1 1 | max 150",
    "esmolol/heart-rate, acts": "60-300 s 10-30 min",
    "atropine": "0.1 0.4 1 mg",
    "atropine, syringe": "0.1 mg by 0.5",
    "atropine/bradycardia": "mg 0.5-1: 0.5 0.5 1 | max 1",
    "atropine/bradycardia, acts": "60-120 s 30-60 min",
    "glycopyrrolate": "0.2 mg",
    "glycopyrrolate, vial": "0.2 mg by 0.1",
    "glycopyrrolate/bradycardia": "mg 0.1-0.1: 0.1 0.1 0.1 | max 0.1",
    "glycopyrrolate/bradycardia, acts": "60-60 s 120-180 min",
    "phenylephrine": "0.1 10 mg",
    "phenylephrine, ready-made": "100 mcg by 0.1",
    "phenylephrine/low-pressure": "mcg 40-100: 50 100 100 | max 200",
    "phenylephrine/low-pressure, acts": "30-60 s 5-20 min",
    "epinephrine": "0.1 1 mg",
    "epinephrine, push-dose": "10 mcg by 0.1; 1 mL of 0.1 mg to 10",
    "epinephrine, pump": "16 mcg by 0.1; 4 mL of 1 mg to 250",
    "epinephrine/low-pressure": "mcg 5-20: 5 10 20 | max 20",
    "epinephrine/low-pressure, acts": "30-60 s 5-10 min",
    "epinephrine/infusion": "mcg/kg/min 0.05-2: 0.05 0.1 0.5 | max 15",
    "epinephrine/infusion, acts": "30-60 s 5-10 min",
    "norepinephrine": "0.016 0.032 1 mg",
    "norepinephrine, bag": "16 mcg by 0.1; 4 mL of 1 mg to 250",
    "norepinephrine/low-pressure": "mcg/min 2-12: 2 8 12 | max 12",
    "norepinephrine/low-pressure, acts": "60-120 s 1-5 min",
    "dexmedetomidine": "4 100 mcg",
    "dexmedetomidine, pump": "4 mcg by 0.1; 2 mL of 100 mcg to 50",
    "dexmedetomidine/sedation": "mcg/kg/h 0.2-0.7: 0.2 0.4 0.7 | max 60",
    "dexmedetomidine/sedation, acts": "300-900 s 60-120 min",
}
TEXT = Path(__file__).parents[2] / "configs" / "tarn-hollow" / "formulary.yaml"
FACTORS = (Decimal(10), Decimal("0.1"), Decimal("1.2"), Decimal("0.8"))


def copied(formulary: Formulary) -> dict[str, str]:
    """The figures of a formulary in the form of the table above."""
    return {key: line for drug in formulary.drugs for key, line in _lines(drug)}


def _lines(drug: Drug) -> Iterator[tuple[str, str]]:
    supplied = drug.supplied
    yield drug.id, f"{' '.join(map(plain, supplied.amounts_per_ml))} {supplied.unit}"
    for one in drug.preparations:
        step = one.graduation_ml or one.pump_step_ml_per_h or Decimal(0)
        made = "" if one.recipe is None else _made(one.recipe)
        yield (
            f"{drug.id}, {one.id}",
            f"{plain(one.amount_per_ml)} {one.unit} by {plain(step)}{made}",
        )
    for use in drug.indications:
        low = use.when_pressure_is_low
        doses = _dose(use.dose) + ("" if low is None else f" | {_dose(low)}")
        acts = f"{_range(use.acts.onset_s)} s {_range(use.acts.lasts_min)} min"
        maximum = plain(use.maximum.amount)
        yield f"{drug.id}/{use.id}", f"{use.dose.unit} {doses} | max {maximum}"
        yield f"{drug.id}/{use.id}, acts", acts


def _made(recipe: Recipe) -> str:
    if recipe.take_ml is None or recipe.of_amount_per_ml is None:
        powder = plain(recipe.powder_amount or Decimal(0))
        return f"; powder {powder} {recipe.unit} to {plain(recipe.to_ml)}"
    strength = f"{plain(recipe.of_amount_per_ml)} {recipe.unit}"
    return f"; {plain(recipe.take_ml)} mL of {strength} to {plain(recipe.to_ml)}"


def _dose(dose: Dose) -> str:
    return f"{_range(dose.published)}: {plain(dose.low)} {plain(dose.usual)} {plain(dose.high)}"


def _range(between: Between) -> str:
    return f"{plain(between.low)}-{plain(between.high)}"


def test_every_figure_is_the_published_one(formulary: Formulary) -> None:
    """No figure differs from the second copy, and no drug is missing from either."""
    assert copied(formulary) == PUBLISHED


def test_the_drugs_of_the_trade_are_there(formulary: Formulary) -> None:
    """At least these are on the card (common practice, no source)."""
    needed = """ketamine etomidate propofol midazolam fentanyl rocuronium vecuronium
    succinylcholine lidocaine esmolol epinephrine epinephrine/infusion phenylephrine norepinephrine
    atropine glycopyrrolate sugammadex hydromorphone dexmedetomidine"""
    for key in needed.split():
        assert formulary.entry(key)


def test_figures_from_memory_can_be_listed(formulary: Formulary) -> None:
    """Each figure that was not looked up is named with its drug and where it stands."""
    listed = list(formulary.from_memory())
    assert (
        "propofol, supplied: US prescribing information, propofol injectable emulsion, "
        in (listed[3])
    )
    text = TEXT.read_text(encoding="utf-8")
    assert len(listed) == text.count("status: memory")
    assert Status.MEMORY.value == "memory"


def places(part: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Where each number stands."""
    if isinstance(part, dict):
        for key, value in part.items():
            yield from places(value, (*at, key))
    elif isinstance(part, list):
        for number, value in enumerate(part):
            yield from places(value, (*at, number))
    elif isinstance(part, int | float) and not isinstance(part, bool):
        yield at


CONTENT = yaml.safe_load(TEXT.read_text(encoding="utf-8"))
DRUGS = {drug["id"]: number for number, drug in enumerate(CONTENT["drugs"])}


def only(drug: str) -> dict[str, Any]:
    """A formulary of that one drug."""
    alone = {**CONTENT["drugs"][DRUGS[drug]], "sounds_like": []}
    return {**CONTENT, "absent": [], "drugs": [alone]}


@pytest.mark.parametrize("drug", DRUGS)
def test_no_mutated_figure_passes(drug: str) -> None:
    """Ten times, a tenth, a fifth more or less: refused, or not the published figure any more."""
    alone = only(drug)
    assert not caught(alone)
    figures = [at for at in places(alone) if at[0] == "drugs"]
    assert len(figures) >= 12
    for at in figures:
        for factor in FACTORS:
            content = json.loads(json.dumps(alone))
            parent = content
            for step in at[:-1]:
                parent = parent[step]
            before = Decimal(str(parent[at[-1]]))
            parent[at[-1]] = float(before * factor)
            assert caught(content), (at, plain(before * factor))


def caught(content: dict[str, Any]) -> bool:
    """Whether such a formulary is refused, or differs from the published figures."""
    try:
        formulary = Formulary.model_validate_json(json.dumps(content))
    except ValueError:
        return True
    differs = not copied(formulary).items() <= PUBLISHED.items()
    return differs or any(faults(formulary))


def test_a_figure_is_refused_ten_times_out_of_range_by_the_check_alone() -> None:
    """Of the site's doses, a lost or added decimal point is refused without any second copy.

    Only those pass that stay within a published range ten times wide or more: fentanyl's and
    epinephrine's infusion.
    """
    passed = set()
    for drug in DRUGS:
        alone = only(drug)
        for at in places(alone):
            if at[-1] not in ("low", "usual", "high") or at[-2] not in (
                "dose",
                "when_pressure_is_low",
            ):
                continue
            for factor in FACTORS[:2]:
                content = json.loads(json.dumps(alone))
                parent = content
                for step in at[:-1]:
                    parent = parent[step]
                if "reason" in parent:
                    continue
                parent[at[-1]] = float(Decimal(str(parent[at[-1]])) * factor)
                try:
                    formulary = Formulary.model_validate_json(json.dumps(content))
                except ValueError:
                    continue
                if not any(faults(formulary)):
                    passed.add(drug)
    assert passed <= {"fentanyl", "epinephrine"}
