"""Every figure of the demonstration formulary against a second copy of it with its sources.

What a site may not change unnoticed is in test_slips.py.
"""

from collections.abc import Iterator
from pathlib import Path

from assistant.dosing.drugs import Dose, Drug
from assistant.dosing.formulary import Formulary
from assistant.dosing.preparations import Recipe
from assistant.dosing.sourced import Status
from assistant.dosing.units import plain

# Copied figure by figure from the sources named, not from the formulary. US prescribing
# information ("label"), adults, intravenous, unless named otherwise; (q) read in a page that quotes
# it, (m) from memory. After "|" the dose for a low pressure: common practice in shock (m), unless
# named. Maxima: the site's usual dose at 150 kg, unless named. How long: (m) unless named.
#
# ketamine       label, dosage: 1-4.5 mg/kg; 10, 50, 100 mg/mL; 5-10 min; geriatric: low end (m)
# etomidate      label: 0.2-0.6, usual 0.3 mg/kg; 2 mg/mL; 30-60 s and 3-5 min (q);
#                less for the old (figure and age m)
# propofol       label s.2: 2-2.5, 1-1.5 if ill; cardiac 0.5-1.5; ICU 5-50 mcg/kg/min (q);
#                10 mg/mL (m); lean weight in obesity: Anaesthesia 2015;70:859-76, table 3
# midazolam      label: 0.3-0.35, ill 0.2-0.25, as little as 0.15 (q); infusion 0.02-0.1 mg/kg/h (m)
#                from 55 years 0.3, 0.2 premedicated (q)
# fentanyl       label s.2.2 table 1: 2-20 mcg/kg; 50 mcg/mL; infusion SCCM 0.7-10 mcg/kg/h (m)
# hydromorphone  label s.2.4: 0.2-1 mg; s.3: 1, 2, 4 mg/mL, high potency 10
# rocuronium     label: rapid sequence 0.6-1.2 mg/kg (q); s.14.1: 38-160 min at 1.2; 10 mg/mL
# succinylcholine label: 0.3-1.1 mg/kg, block 1 to 2 min, 4-6 min; 20 and 100 mg/mL
# vecuronium     label: 0.08-0.1 mg/kg, 2.5-3 min; 10 mg powder in 10 mL
# sugammadex     label s.2: 16 mg/kg actual weight; 100 mg/mL; 24 h to rocuronium; max at 200 kg
# lidocaine      Anesth Analg 1987;66:1036 (q): 0.75 and 1.5 mg/kg; label: at most 200-300 mg an
#                hour; 2 %
# esmolol        label (q): 0.5 gradual, 1 mg/kg immediate; 10 mg/mL
# atropine       label: 0.5 or 1 mg by manufacturer; 0.1, 0.4, 1 mg/mL; bradycardia 1 mg, 3 in all:
#                resuscitation guidelines of 2020 (q, see docs/dosing.md)
# glycopyrrolate label: 0.1 mg intraoperatively; 0.2 mg/mL
# phenylephrine  label, ready-to-use: 40-100 mcg, up to 200; 100 mcg/mL; vial 10 mg/mL
# epinephrine    published rapid reference on push-dose: 1 mL of 0.1 mg/mL in 10, 5-20 mcg;
#                label s.2.2: 0.05-2 mcg/kg/min
# norepinephrine label s.2.2: 8-12, then 2-4 mcg/min; 1 mg/mL; premixed 4 mg in 250 mL = 16 mcg/mL
# dexmedetomidine label: 0.2-0.7 mcg/kg/h; 2 mL of 100 mcg/mL in 50 mL = 4 mcg/mL
PUBLISHED = {
    "ketamine": "10 mg/mL, 50 mg/mL, 100 mg/mL",
    "ketamine, vial": "10 mg/mL by 0.2 mL",
    "ketamine/induction": "1 to 4.5 mg/kg total weight: 1 1.5 2"
    " | 0.5 to 1 mg/kg total weight: 0.5 0.75 1"
    " | from 65: 1 to 4.5 mg/kg total weight: 1 1 1.5 | single_dose 225 mg",
    "ketamine/induction, acts": "30 to 60 s, 5 to 10 min",
    "etomidate": "2 mg/mL",
    "etomidate, vial": "2 mg/mL by 0.2 mL",
    "etomidate/induction": "0.2 to 0.6 mg/kg total weight: 0.2 0.3 0.3"
    " | 0.1 to 0.2 mg/kg total weight: 0.15 0.15 0.2"
    " | from 65: 0.2 to 0.3 mg/kg total weight: 0.2 0.2 0.2 | single_dose 45 mg",
    "etomidate/induction, acts": "30 to 60 s, 3 to 5 min",
    "propofol": "10 mg/mL",
    "propofol, syringe": "10 mg/mL by 0.2 mL",
    "propofol, pump": "10 mg/mL by 0.1 mL/h",
    "propofol/induction": "1 to 2.5 mg/kg lean weight: 1 1.5 2"
    " | 0.5 to 1.5 mg/kg lean weight: 0.5 0.75 1"
    " | from 55: 1 to 1.5 mg/kg lean weight: 1 1 1.5 | single_dose 225 mg",
    "propofol/induction, acts": "30 to 60 s, 3 to 10 min",
    "propofol/sedation": "5 to 50 mcg/kg/min total weight: 5 20 50"
    " | 5 to 50 mcg/kg/min total weight: 5 5 20 | highest_rate 50 mcg/kg/min total weight",
    "propofol/sedation, acts": "30 to 60 s, 3 to 10 min",
    "midazolam": "1 mg/mL, 5 mg/mL",
    "midazolam, ampoule": "5 mg/mL by 0.1 mL",
    "midazolam, pump": "1 mg/mL by 0.1 mL/h; 10 mL of 5 mg/mL to 50 mL",
    "midazolam/induction": "0.15 to 0.35 mg/kg total weight: 0.15 0.2 0.3"
    " | 0.1 to 0.25 mg/kg total weight: 0.1 0.1 0.15"
    " | from 55: 0.15 to 0.3 mg/kg total weight: 0.15 0.15 0.2 | single_dose 30 mg",
    "midazolam/induction, acts": "60 to 120 s, 15 to 80 min",
    "midazolam/sedation": "0.02 to 0.1 mg/kg/h total weight: 0.02 0.04 0.1"
    " | 0.02 to 0.1 mg/kg/h total weight: 0.02 0.02 0.04 | highest_rate 0.1 mg/kg/h total weight",
    "midazolam/sedation, acts": "60 to 120 s, 15 to 80 min",
    "fentanyl": "50 mcg/mL",
    "fentanyl, ampoule": "50 mcg/mL by 0.1 mL",
    "fentanyl, pump": "10 mcg/mL by 0.1 mL/h; 10 mL of 50 mcg/mL to 50 mL",
    "fentanyl/laryngoscopy": "2 to 20 mcg/kg total weight: 2 2 3"
    " | 0.5 to 1 mcg/kg total weight: 1 1 1"
    " | single_dose 300 mcg",
    "fentanyl/laryngoscopy, acts": "60 to 180 s, 30 to 60 min",
    "fentanyl/analgesia": "0.7 to 10 mcg/kg/h total weight: 0.7 1 2"
    " | highest_rate 2 mcg/kg/h total weight",
    "fentanyl/analgesia, acts": "60 to 180 s, 30 to 60 min",
    "hydromorphone": "1 mg/mL, 2 mg/mL, 4 mg/mL, 10 mg/mL",
    "hydromorphone, ampoule": "1 mg/mL by 0.01 mL",
    "hydromorphone/analgesia": "0.2 to 1 mg: 0.2 0.5 1 | 0.2 to 1 mg: 0.2 0.2 0.5"
    " | single_dose 1 mg",
    "hydromorphone/analgesia, acts": "300 to 600 s, 120 to 240 min",
    "rocuronium": "10 mg/mL",
    "rocuronium, vial": "10 mg/mL by 0.1 mL",
    "rocuronium/paralysis": "0.6 to 1.2 mg/kg total weight: 1 1.2 1.2 | single_dose 180 mg",
    "rocuronium/paralysis, acts": "60 to 120 s, 38 to 160 min",
    "succinylcholine": "20 mg/mL, 100 mg/mL",
    "succinylcholine, vial": "20 mg/mL by 0.1 mL",
    "succinylcholine/paralysis": "0.3 to 1.1 mg/kg total weight: 1 1.5 1.5 | single_dose 225 mg",
    "succinylcholine/paralysis, acts": "60 to 120 s, 4 to 6 min",
    "vecuronium": "1 mg/mL",
    "vecuronium, vial": "1 mg/mL by 0.2 mL; powder 10 mg to 10 mL",
    "vecuronium/paralysis": "0.08 to 0.1 mg/kg total weight: 0.1 0.1 0.1 | single_dose 15 mg",
    "vecuronium/paralysis, acts": "150 to 180 s, 25 to 40 min",
    "sugammadex": "100 mg/mL",
    "sugammadex, vial": "100 mg/mL by 0.2 mL",
    "sugammadex/immediate-reversal": "16 mg/kg total weight: 16 16 16 | single_dose 3200 mg",
    "sugammadex/immediate-reversal, acts": "60 to 120 s, 60 to 1440 min",
    "lidocaine": "10 mg/mL, 20 mg/mL",
    "lidocaine, syringe": "20 mg/mL by 0.1 mL",
    "lidocaine/pretreatment": "0.75 to 1.5 mg/kg total weight: 1 1.5 1.5 | total 200 mg",
    "lidocaine/pretreatment, acts": "45 to 90 s, 10 to 20 min",
    "esmolol": "10 mg/mL, 20 mg/mL",
    "esmolol, vial": "10 mg/mL by 0.1 mL",
    "esmolol/heart-rate": "0.5 to 1 mg/kg total weight: 0.5 1 1 | single_dose 150 mg",
    "esmolol/heart-rate, acts": "60 to 300 s, 10 to 30 min",
    "atropine": "0.1 mg/mL, 0.4 mg/mL, 1 mg/mL",
    "atropine, syringe": "0.1 mg/mL by 0.5 mL",
    "atropine/bradycardia": "0.5 to 1 mg: 0.5 1 1 | total 3 mg",
    "atropine/bradycardia, acts": "60 to 120 s, 30 to 60 min",
    "glycopyrrolate": "0.2 mg/mL",
    "glycopyrrolate, vial": "0.2 mg/mL by 0.1 mL",
    "glycopyrrolate/bradycardia": "0.1 mg: 0.1 0.1 0.1 | single_dose 0.1 mg",
    "glycopyrrolate/bradycardia, acts": "60 s, 120 to 180 min",
    "phenylephrine": "0.1 mg/mL, 10 mg/mL",
    "phenylephrine, ready-made": "100 mcg/mL by 0.1 mL",
    "phenylephrine/low-pressure": "40 to 100 mcg: 50 100 100 | total 200 mcg",
    "phenylephrine/low-pressure, acts": "30 to 60 s, 5 to 20 min",
    "epinephrine": "0.1 mg/mL, 1 mg/mL",
    "epinephrine, push-dose": "10 mcg/mL by 0.1 mL; 1 mL of 0.1 mg/mL to 10 mL",
    "epinephrine, pump": "16 mcg/mL by 0.1 mL/h; 4 mL of 1 mg/mL to 250 mL",
    "epinephrine/low-pressure": "5 to 20 mcg: 5 10 20 | single_dose 20 mcg",
    "epinephrine/low-pressure, acts": "30 to 60 s, 5 to 10 min",
    "epinephrine/infusion": "0.05 to 2 mcg/kg/min total weight: 0.05 0.1 0.5"
    " | highest_rate 0.5 mcg/kg/min total weight",
    "epinephrine/infusion, acts": "30 to 60 s, 5 to 10 min",
    "norepinephrine": "0.016 mg/mL, 0.032 mg/mL, 1 mg/mL",
    "norepinephrine, bag": "16 mcg/mL by 0.1 mL/h; 4 mL of 1 mg/mL to 250 mL",
    "norepinephrine/low-pressure": "2 to 12 mcg/min: 2 8 12 | starting_rate 12 mcg/min",
    "norepinephrine/low-pressure, acts": "60 to 120 s, 1 to 5 min",
    "dexmedetomidine": "4 mcg/mL, 100 mcg/mL",
    "dexmedetomidine, pump": "4 mcg/mL by 0.1 mL/h; 2 mL of 100 mcg/mL to 50 mL",
    "dexmedetomidine/sedation": "0.2 to 0.7 mcg/kg/h total weight: 0.2 0.4 0.7"
    " | highest_rate 0.7 mcg/kg/h total weight",
    "dexmedetomidine/sedation, acts": "300 to 900 s, 60 to 120 min",
}
TEXT = Path(__file__).parents[2] / "configs" / "tarn-hollow" / "formulary.yaml"


def copied(formulary: Formulary) -> dict[str, str]:
    """The figures of a formulary in the form of the table above."""
    return {key: line for drug in formulary.drugs for key, line in _lines(drug)}


def _lines(drug: Drug) -> Iterator[tuple[str, str]]:
    yield drug.id, ", ".join(map(str, drug.supplied.strengths))
    for one in drug.preparations:
        made = "" if one.recipe is None else _made(one.recipe)
        yield f"{drug.id}, {one.id}", f"{one.strength} by {one.step}{made}"
    for use in drug.indications:
        low, old = use.when_pressure_is_low, use.when_old
        doses = _dose(use.dose) + ("" if low is None else f" | {_dose(low)}")
        doses += "" if old is None else f" | from {old.from_age_years}: {_dose(old)}"
        maximum = f"{use.maximum.limit.value} {use.maximum.most}"
        yield f"{drug.id}/{use.id}", f"{doses} | {maximum}"
        yield f"{drug.id}/{use.id}, acts", f"{use.acts.onset}, {use.acts.lasts}"


def _made(recipe: Recipe) -> str:
    if recipe.draw_up is None or recipe.of is None:
        return f"; powder {recipe.powder} to {recipe.make_up_to}"
    return f"; {recipe.draw_up} of {recipe.of} to {recipe.make_up_to}"


def _dose(dose: Dose) -> str:
    low, usual, high = (plain(one.amount) for one in dose.figures)
    return f"{dose.published.range}: {low} {usual} {high}"


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
    assert any(one.startswith("propofol, supplied: US prescribing") for one in listed)
    text = TEXT.read_text(encoding="utf-8")
    assert len(listed) == text.count("status: memory")
    assert Status.MEMORY.value == "memory"
