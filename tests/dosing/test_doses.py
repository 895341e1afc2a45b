"""Doses and volumes, against the ranges of published labels and by property."""

import re
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dosing.answers import DoseAnswer, maximum_of
from assistant.dosing.doses import dose_of
from assistant.dosing.drawing_up import USUAL_SYRINGES, step_of
from assistant.dosing.drugs import Drug, Indication
from assistant.dosing.formulary import Formulary
from assistant.dosing.patient import Patient
from assistant.dosing.refusal import NoDose
from assistant.dosing.stated import Figure, figure
from assistant.dosing.units import amount_in, plain, quantity, written
from assistant.dosing.weights import Sex, WeightKind
from assistant.language.numbers import say_number


def changed(drug: Drug, *, usual: str | None = None, per_ml: str | None = None, **use: Any) -> Drug:
    """The drug with the usual dose of its first use, or its strength, exchanged."""
    one = drug.indications[0]
    if usual is not None:
        use["dose"] = one.dose.model_copy(update={"usual": figure(usual)})
    preparation = drug.preparations[0]
    if per_ml is not None:
        strength = figure(per_ml, ("mg/mL", "mcg/mL"))
        preparation = preparation.model_copy(update={"strength": strength})
    return drug.model_copy(
        update={"indications": (one.model_copy(update=use),), "preparations": (preparation,)}
    )


def at_its_high_dose(drug: Drug, use: Indication) -> Drug:
    """The drug for this use alone, its high dose the usual one."""
    dose = use.dose.model_copy(update={"usual": use.dose.high})
    return drug.model_copy(update={"indications": (use.model_copy(update={"dose": dose}),)})


def mg_or_mcg(drug: Drug) -> str:
    """The unit of mass of its first dose."""
    return drug.indications[0].dose.given_unit


def by(drug: Drug, kind: str) -> Drug:
    """The drug with its usual dose by another weight."""
    usual = drug.indications[0].dose.usual
    return changed(drug, usual=f"{plain(usual.amount)} {usual.unit} {kind} weight")


# Dose per kilogram and strength as labels give them, and for five weights "dose / volume": the
# products, worked independently of this code. Volumes before rounding.
# US prescribing information: rocuronium s.2.2 (1.2 quoted), succinylcholine, etomidate, ketamine,
# propofol (strength from memory), midazolam, vecuronium, sugammadex s.2.1, fentanyl s.2.2 table 1.
PUBLISHED = {
    ("rocuronium", "0.6", "10"): "30/3.0 37.8/3.78 42/4.2 48/4.8 60/6.0",
    ("rocuronium", "1.2", "10"): "60/6.0 75.6/7.56 84/8.4 96/9.6 120/12.0",
    ("succinylcholine", "0.6", "20"): "30/1.5 37.8/1.89 42/2.1 48/2.4 60/3.0",
    ("succinylcholine", "1.1", "20"): "55/2.75 69.3/3.465 77/3.85 88/4.4 110/5.5",
    ("etomidate", "0.3", "2"): "15/7.5 18.9/9.45 21/10.5 24/12 30/15",
    ("ketamine", "2", "50"): "100/2.0 126/2.52 140/2.8 160/3.2 200/4.0",
    ("ketamine", "2", "10"): "100/10 126/12.6 140/14 160/16 200/20",
    ("propofol", "2", "10"): "100/10 126/12.6 140/14 160/16 200/20",
    ("midazolam", "0.3", "5"): "15/3.0 18.9/3.78 21/4.2 24/4.8 30/6.0",
    ("vecuronium", "0.1", "1"): "5/5 6.3/6.3 7/7 8/8 10/10",
    ("sugammadex", "16", "100"): "800/8.0 1008/10.08 1120/11.2 1280/12.8 1600/16",
    ("fentanyl", "2", "50"): "100/2.0 126/2.52 140/2.8 160/3.2 200/4.0",
}
ROWS = [
    (*key, weight_kg, *pair.split("/"))
    for key, row in PUBLISHED.items()
    for weight_kg, pair in zip((50, 63, 70, 80, 100), row.split(), strict=True)
]


@pytest.mark.parametrize(("drug_id", "rate", "per_ml", "weight_kg", "dose", "volume_ml"), ROWS)
def test_published_doses(
    *,
    formulary: Formulary,
    drug_id: str,
    rate: str,
    per_ml: str,
    weight_kg: int,
    dose: str,
    volume_ml: str,
) -> None:
    """Every published dose at every weight is exact, and its volume is to the nearest mark."""
    mass = formulary.drug(drug_id).indications[0].dose.given_unit
    usual = f"{rate} {mass}/kg total weight"
    drug = changed(formulary.drug(drug_id), usual=usual, per_ml=f"{per_ml} {mass}/mL")
    answer = dose_of(drug, Patient(weight_kg))
    exact_ml = Decimal(volume_ml)
    mark_ml = step_of(drug.preparations[0], exact_ml, USUAL_SYRINGES)
    volume = amount_in(answer.volume, "mL")
    assert amount_in(answer.dose, mg_or_mcg(drug)) == Decimal(dose)
    assert amount_in(answer.dose / answer.strength, "mL") == exact_ml
    assert abs(volume - exact_ml) <= mark_ml / 2
    assert volume % mark_ml == 0
    assert answer.rounded == (volume != exact_ml)


def test_a_milligram_dose_of_a_microgram_ampoule(formulary: Formulary) -> None:
    """0.002 mg/kg of fentanyl is the label's 2 mcg/kg and the same volume, not a thousandth."""
    drug = changed(formulary.drug("fentanyl"), usual="0.002 mg/kg total weight")
    assert dose_of(drug, Patient(70)).dose == quantity(Decimal("0.14"), "mg")
    assert dose_of(drug, Patient(70)).volume == quantity(Decimal("2.8"), "mL")


OBESE = {"height_cm": 170, "sex": Sex.MALE}


@pytest.mark.parametrize(
    ("kind", "weight_kg", "dose"),
    [("total", "120", "144"), ("lean", "71.1", "85.32"), ("ideal", "65.9", "79.08"),
     ("adjusted", "87.6", "105.12")],
)  # fmt: skip
def test_weights_in_obesity(formulary: Formulary, kind: str, weight_kg: str, dose: str) -> None:
    """Rocuronium 1.2 mg/kg, man, 120 kg, 170 cm: what each source's weight makes of it.

    Total: US label; lean: AAGBI/SOBA 2015; ideal or adjusted: Society of Critical Care Medicine.
    """
    drug = by(formulary.drug("rocuronium"), kind)
    answer = dose_of(drug, Patient(120, **OBESE))
    assert answer.weight_kind is WeightKind(kind)
    assert answer.weight_kg == Decimal(weight_kg)
    assert answer.dose == quantity(Decimal(dose), "mg")
    why = "" if kind == "total" else " for body mass index forty-one point five"
    assert f"kilograms {kind} weight{why}: " in answer.spoken()


# Man of 170 cm: 30 kg/m2 are 86.7 kg, of which 61.1 are lean (9270 x 86.7 / (6680 + 216 x 30)).
@pytest.mark.parametrize(
    ("weight_kg", "said"),
    [
        ("86.6", "eighty-six point six kilograms total weight for body mass index twenty-nine"),
        ("86.7", "sixty-one point one kilograms lean weight for body mass index thirty: "),
        ("120", "seventy-one point one kilograms lean weight for body mass index forty-one"),
    ],
)
def test_propofol_goes_by_lean_weight_in_obesity(
    formulary: Formulary, weight_kg: str, said: str
) -> None:
    """AAGBI and SOBA, Anaesthesia 2015;70:859-76, table 3; at the step it says which and why."""
    patient = Patient(Decimal(weight_kg), **OBESE)
    answer = dose_of(formulary.drug("propofol"), patient, adults=formulary.adults)
    assert f"Propofol for induction, {said}" in answer.spoken()


def test_an_index_just_below_the_step_is_not_told_as_the_step(formulary: Formulary) -> None:
    """86.699 kg at 170 cm are 29.9997 kg/m2: told as 29.9, with the total weight."""
    answer = dose_of(formulary.drug("propofol"), Patient(Decimal("86.699"), **OBESE))
    assert "total weight for body mass index 29.9: " in answer.written()


def test_a_light_patient_of_unknown_height_has_the_dose_at_once(formulary: Formulary) -> None:
    """Below 80 kg few are obese: total weight is taken, said so, and nobody is asked the height."""
    answer = dose_of(formulary.drug("propofol"), Patient(79), adults=formulary.adults)
    assert "seventy-nine kilograms total weight: " in answer.spoken()
    assert "height or sex not known, below 80 kg: total weight" in answer.working
    with pytest.raises(NoDose, match="it goes by lean weight here, and I do not know the height"):
        dose_of(formulary.drug("propofol"), Patient(80), adults=formulary.adults)


def test_a_slim_person_is_not_given_a_lean_dose(formulary: Formulary) -> None:
    """Lean weight is for obese adults: at 70 kg and 170 cm it would give 22 % too little."""
    drug = by(formulary.drug("rocuronium"), "lean")
    answer = dose_of(drug, Patient(70, **OBESE))
    assert answer.weight_kind is WeightKind.TOTAL
    assert answer.dose == quantity(84, "mg")
    assert "kilograms total weight for body mass index twenty-four point two: " in answer.spoken()
    assert "body mass index 24.2 is below 30" in answer.working


@pytest.mark.parametrize(
    ("known", "missing"),
    [
        ({}, "the height or the sex"),
        ({"height_cm": 170}, "the sex"),
        ({"sex": Sex.FEMALE}, "the height"),
    ],
)
def test_a_missing_figure_is_asked_for_by_name(
    formulary: Formulary, known: dict[str, Any], missing: str
) -> None:
    """A dose that goes by lean weight is refused, never quietly given by another weight."""
    drug = by(formulary.drug("propofol"), "lean")
    with pytest.raises(NoDose) as refusal:
        dose_of(drug, Patient(90, **known))
    assert str(refusal.value) == (
        f"No dose of propofol: it goes by lean weight here, and I do not know {missing}."
    )


def test_no_weight_no_dose(formulary: Formulary) -> None:
    """Without a weight only a fixed dose is given."""
    with pytest.raises(NoDose, match=r"^No dose of ketamine: I do not know the weight\.$"):
        dose_of(formulary.drug("ketamine"), Patient())
    assert dose_of(formulary.drug("epinephrine"), Patient()).dose == quantity(10, "mcg")


@pytest.mark.parametrize("weight_kg", [0, -5, 3, 29, Decimal("29.9"), Decimal("200.1"), 201, 700])
@pytest.mark.parametrize("drug_id", ["rocuronium", "epinephrine"])
def test_only_adults(formulary: Formulary, drug_id: str, weight_kg: int | Decimal) -> None:
    """Outside the adult range there is no dose, fixed ones included."""
    with pytest.raises(NoDose) as refusal:
        dose_of(formulary.drug(drug_id), Patient(weight_kg), adults=formulary.adults)
    assert str(refusal.value) == (
        f"No dose of {drug_id}: "
        "I only know doses for a weight from thirty to two hundred kilograms."
    )


def test_a_height_misheard_is_refused(formulary: Formulary) -> None:
    """A height of 17 or 270 cm gives no dose."""
    for height_cm in (17, 270):
        with pytest.raises(NoDose, match="a height from one hundred and thirty to"):
            dose_of(formulary.drug("rocuronium"), Patient(70, height_cm=height_cm))


def test_sentences_for_the_ear(formulary: Formulary) -> None:
    """One form: drug, what for, weight and its kind, dose, volume, strength, caution."""
    rocuronium = formulary.drug("rocuronium")
    assert dose_of(rocuronium, Patient(70)).spoken() == (
        "Rocuronium for paralysis, seventy kilograms total weight: eighty-four milligrams. "
        "That is eight point four millilitres of ten milligrams per millilitre. "
        "Check the label in hand."
    )
    assert dose_of(rocuronium, Patient(70)).written() == (
        "Rocuronium for paralysis, 70 kg total weight: 84 mg = 8.4 mL of 10 mg/mL. "
        "Check the label in hand."
    )
    assert dose_of(formulary.drug("phenylephrine"), Patient(70)).spoken() == (
        "Phenylephrine for low blood pressure, fixed dose: one hundred micrograms. "
        "That is one millilitre of one hundred micrograms per millilitre. Only from the ready-made "
        "syringe, never from a vial. Check the label in hand."
    )


@pytest.mark.parametrize(
    ("name", "said"),
    [
        # Below 1 mg/mL in micrograms, the dose with it: a lost "zero point" is ten times too much.
        ("glycopyrrolate", "one hundred micrograms. That is zero point five millilitres of two"),
        # Drawn from whole milligrams it stays in them, as on its label.
        ("hydromorphone", "zero point five milligrams. That is zero point five millilitres of one"),
    ],
)
def test_weak_strengths_are_said_in_micrograms(formulary: Formulary, name: str, said: str) -> None:
    """Dose and strength of one sentence are in one unit."""
    assert said in dose_of(formulary.drug(name), Patient()).spoken()


def test_atropine_for_a_slow_heart(formulary: Formulary) -> None:
    """1 mg, again every 3 to 5 minutes, 3 mg in all: American Heart Association 2020 (quoted).

    Part 3: Adult Basic and Advanced Life Support, Circulation 2020;142(suppl 2):S366-468.
    """
    atropine = formulary.drug("atropine")
    assert dose_of(atropine, Patient()).spoken() == (
        "Atropine for a slow heart, fixed dose: one milligram. That is ten millilitres "
        "of one hundred micrograms per millilitre. Again every three to five minutes, at most "
        "three milligrams in all. Check the label in hand."
    )
    assert maximum_of(atropine.indications[0], "3 mg") == "at most 3 mg in all"


@pytest.mark.parametrize(
    ("name", "said"),
    [
        # US prescribing information: over two to three minutes; over thirty seconds.
        ("hydromorphone", "Over two to three minutes."),
        ("esmolol", "Over thirty seconds."),
        ("phenylephrine", "Only from the ready-made syringe, never from a vial."),
        ("norepinephrine", "Into a large vein."),
    ],
)
def test_what_changes_the_giving_is_said_with_the_dose(
    formulary: Formulary, name: str, said: str
) -> None:
    """Before the label, aloud, in writing and where the volume leads."""
    answer = dose_of(formulary.drug(name), Patient(70))
    ending = f" {said} Check the label in hand."
    assert answer.spoken().endswith(ending)
    assert answer.written().endswith(ending)
    assert answer.volume_first().endswith(ending)


# Sugammadex 16 mg/kg: 70 kg are 1120 mg, 11.2 mL, three vials of 5 mL; rocuronium 1.2 mg/kg:
# 70 kg 8.4 mL, one vial of 10 mL; 110 kg 13.2 mL, two; 40 kg 4.8 mL. Vecuronium 0.1 mg/kg
# of vials of 10 mg. By hand.
@pytest.mark.parametrize(
    ("drug", "weight_kg", "drawn_up", "said"),
    [
        ("sugammadex", 70, "3 vials, syringe of 20 mL", "That takes three vials."),
        ("rocuronium", 70, "1 vial, syringe of 10 mL", None),
        ("rocuronium", 110, "2 vials, syringe of 20 mL", "That takes two vials."),
        ("rocuronium", 40, "1 vial, syringe of 5 mL", None),
        ("vecuronium", 110, "2 vials, syringe of 20 mL", "That takes two vials."),
        ("epinephrine", 70, "syringe of 1 mL", None),
    ],
)
def test_vials_are_said_when_it_takes_more_than_one(
    *, formulary: Formulary, drug: str, weight_kg: int, drawn_up: str, said: str | None
) -> None:
    """How many and which syringe stand in writing always."""
    answer = dose_of(formulary.drug(drug), Patient(weight_kg))
    assert answer.drawn_up() == drawn_up
    assert said is None or said in answer.spoken()
    assert ("That takes" in answer.spoken()) == (said is not None)


def test_a_fast_pump_is_said(formulary: Formulary) -> None:
    """0.5 mcg/kg/min for 150 kg of 16 mcg/mL are 281.3 mL/h: above 200 (our own limit)."""
    usual, use = formulary.entry("epinephrine/infusion")
    for drug, fast in ((at_its_high_dose(usual, use), True), (usual, False)):
        answer = dose_of(drug, Patient(150), indication="infusion")
        said = "That is fast for a pump, above two hundred millilitres an hour."
        assert (said in answer.spoken()) == fast
        assert ("fast for a pump" in answer.written()) == fast


def test_rounding_is_said(formulary: Formulary) -> None:
    """A rounded volume is called so, and the working shows what it holds."""
    answer = dose_of(formulary.drug("rocuronium"), Patient(63))
    assert answer.rounded
    assert (
        "seventy-five point six milligrams. That is seven point six millilitres, rounded, of"
        in (answer.spoken())
    )
    assert "75.6 mg = 7.6 mL (rounded) of 10 mg/mL" in answer.written()
    assert answer.working == (
        "1.2 mg/kg x 63 kg = 75.6 mg; 75.6 mg at 10 mg/mL = 7.56 mL; "
        "to 0.2 mL: 7.6 mL, which is 76 mg"
    )


@pytest.mark.parametrize(
    ("weight_kg", "said"),
    [
        # 0.1 mg/kg x 33 kg = 3.3 mg = 0.66 mL of 5 mg/mL, to 0.1 mL: 0.7 mL, 6.1 % more.
        (33, "zero point seven millilitres, rounded up by six percent, of five milligrams"),
        # 3.2 mg = 0.64 mL, to 0.6 mL: 6.25 % less.
        (32, "zero point six millilitres, rounded down by six percent, of five milligrams"),
        # 4.9 mg = 0.98 mL, to 1 mL: 2 % more.
        (49, "one millilitre, rounded, of five milligrams"),
    ],
)
def test_rounding_by_more_than_a_twentieth_says_by_how_much(
    formulary: Formulary, weight_kg: int, said: str
) -> None:
    """Midazolam at a low pressure, from a syringe with marks of a tenth."""
    patient = Patient(weight_kg, low_pressure=True)
    assert said in dose_of(formulary.drug("midazolam"), patient).spoken()


def test_capping_is_said(formulary: Formulary) -> None:
    """A dose cut to the maximum is called so."""
    answer = dose_of(formulary.drug("rocuronium"), Patient(160))
    assert answer.capped
    assert answer.dose == quantity(180, "mg")
    assert (
        "weight: capped at the maximum of one hundred and eighty, one eight zero, milligrams. "
        "That is eighteen, one eight, millilitres of" in answer.spoken()
    )
    assert "capped at the maximum of 180 mg = 18 mL" in answer.written()
    assert "1.2 mg/kg x 160 kg = 192 mg; above the maximum, so 180 mg" in answer.working
    assert not dose_of(formulary.drug("rocuronium"), Patient(150)).capped


def test_rounding_never_goes_above_the_maximum(formulary: Formulary) -> None:
    """225 mg of 20 mg/mL are 11.25 mL: the half goes down, as 11.3 mL would be 226 mg."""
    answer = dose_of(formulary.drug("succinylcholine"), Patient(200), syringes=())
    assert answer.volume == quantity(Decimal("11.2"), "mL")


@pytest.mark.parametrize(
    ("drug", "weight_kg", "volume", "syringe", "exact"),
    [
        # Succinylcholine, 1.5 mg/kg of 20 mg/mL, in tenths at the finest.
        ("succinylcholine", 38, "2.9", 3, "2.85"),
        ("succinylcholine", 50, "3.8", 5, "3.75"),
        ("succinylcholine", 70, "5.2", 10, "5.25"),
        # Ketamine, 1.5 mg/kg of 10 mg/mL, in fifths at the finest; never above 225 mg.
        ("ketamine", 66, "10", 10, "9.9"),
        ("ketamine", 70, "11", 20, "10.5"),
        ("ketamine", 134, "20", 20, "20.1"),
        ("ketamine", 180, "22", 30, "22.5"),
        # Etomidate, 0.3 mg/kg of 2 mg/mL.
        ("etomidate", 67, "10", 10, "10.05"),
    ],
)
def test_the_marks_depend_on_the_volume(
    *, formulary: Formulary, drug: str, weight_kg: int, volume: str, syringe: int, exact: str
) -> None:
    """A larger syringe has coarser marks (common practice: 1 mL from 20 mL on)."""
    answer = dose_of(formulary.drug(drug), Patient(weight_kg), syringes=formulary.syringes)
    assert answer.volume == quantity(Decimal(volume), "mL")
    assert f"= {exact} mL" in answer.working
    assert answer.rounded
    assert f"syringe of {syringe} mL" in answer.drawn_up()


def test_rounding_to_marks_changes_no_usual_dose_by_more_than_a_twentieth(
    formulary: Formulary,
) -> None:
    """Whoever weighs what, and whatever syringe that takes: half of a mark is little of it."""
    for drug in formulary.drugs:
        for weight_kg in range(45, 151):
            answer = dose_of(drug, Patient(weight_kg, 170, Sex.MALE), syringes=formulary.syringes)
            held = amount_in(answer.volume * answer.strength / answer.dose, "")
            assert abs(held - 1) <= Decimal("0.05"), (drug.id, weight_kg)


def test_the_answer_names_its_source(formulary: Formulary) -> None:
    """Every answer says where its range was published, how surely, and why it is left."""
    assert "section 2.2, table 1 (read)" in dose_of(formulary.drug("fentanyl"), Patient(70)).source
    assert "the site's reason: above its label" in (
        dose_of(formulary.drug("succinylcholine"), Patient(70)).source
    )


def test_an_unknown_indication_is_an_error(formulary: Formulary) -> None:
    """Another use of the drug is never answered with the first one's dose."""
    with pytest.raises(KeyError):
        dose_of(formulary.drug("ketamine"), Patient(70), indication="sedation")


def test_a_dose_for_a_low_pressure(formulary: Formulary) -> None:
    """The separate dose is used and named; where there is none, the usual one is not renamed."""
    ketamine = dose_of(formulary.drug("ketamine"), Patient(80, low_pressure=True))
    # Common practice in shock, from memory: 0.5 to 1 mg/kg.
    assert ketamine.dose == quantity(60, "mg")
    assert ketamine.spoken().startswith(
        "Ketamine for induction, low pressure dose, eighty kilograms total weight: "
        "sixty, six zero, milligrams."
    )
    rocuronium = dose_of(formulary.drug("rocuronium"), Patient(80, low_pressure=True))
    assert not rocuronium.low_pressure
    assert rocuronium.spoken() == dose_of(formulary.drug("rocuronium"), Patient(80)).spoken()


# US prescribing information: propofol 1 to 1.5 mg/kg for the elderly, adults being below 55 years;
# midazolam from 55 years on 0.3, premedicated 0.2, severely ill as little as 0.15 (quoted);
# etomidate: geriatric patients may require reduced doses (the figure and the age from memory);
# ketamine: from the low end of its range, 1 mg/kg, for the geriatric (from memory).
@pytest.mark.parametrize(
    ("drug", "age_years", "dose_mg", "said"),
    [
        ("propofol", 54, "105", "Propofol for induction, seventy"),
        ("propofol", 55, "70", "Propofol for induction, reduced for age, seventy"),
        ("midazolam", 80, "10.5", "Midazolam for induction, reduced for age, seventy"),
        ("etomidate", 64, "21", "Etomidate for induction, seventy"),
        ("etomidate", 65, "14", "Etomidate for induction, reduced for age, seventy"),
        ("ketamine", 64, "105", "Ketamine for induction, seventy"),
        ("ketamine", 65, "70", "Ketamine for induction, reduced for age, seventy"),
        ("propofol", None, "105", "Propofol for induction, seventy"),
    ],
)
def test_the_old_get_a_reduced_dose(
    *, formulary: Formulary, drug: str, age_years: int | None, dose_mg: str, said: str
) -> None:
    """From the site's age on, and said as such; an age that was not told refuses nothing."""
    answer = dose_of(formulary.drug(drug), Patient(70, age_years=age_years))
    assert answer.dose == quantity(Decimal(dose_mg), "mg")
    assert answer.spoken().startswith(said)


# US prescribing information: propofol 1 to 1.5 mg/kg for the debilitated; midazolam as little as
# 0.15 in severe disease or debilitation (quoted). Those of etomidate and ketamine have none.
@pytest.mark.parametrize(
    ("drug", "age_years", "dose_mg", "said"),
    [
        ("propofol", 40, "70", "Propofol for induction, reduced for frailty, seventy"),
        ("propofol", None, "70", "Propofol for induction, reduced for frailty, seventy"),
        ("propofol", 80, "70", "Propofol for induction, reduced for age, seventy"),
        ("midazolam", 40, "10.5", "Midazolam for induction, reduced for frailty, seventy"),
        ("etomidate", 40, "21", "Etomidate for induction, seventy"),
        ("ketamine", 40, "105", "Ketamine for induction, seventy"),
    ],
)
def test_the_frail_get_a_reduced_dose_where_a_source_has_one(
    *, formulary: Formulary, drug: str, age_years: int | None, dose_mg: str, said: str
) -> None:
    """At any age, and said as such; where the age alone would do, it is said of the age."""
    answer = dose_of(formulary.drug(drug), Patient(70, age_years=age_years, frail=True))
    assert answer.dose == quantity(Decimal(dose_mg), "mg")
    assert answer.spoken().startswith(said)


def test_a_low_pressure_goes_before_the_age(formulary: Formulary) -> None:
    """Both apply: the smaller one, for the low pressure, is given and named."""
    patient = Patient(80, age_years=80, low_pressure=True)
    answer = dose_of(formulary.drug("midazolam"), patient)
    assert answer.dose == quantity(8, "mg")
    assert "low pressure dose, eighty" in answer.spoken()
    assert "age" not in answer.spoken()


def test_numbers_that_are_misheard_are_said_twice(formulary: Formulary) -> None:
    """Fifteen for fifty is a reported error (ISMP 2001): dose and volume say such in digits too."""
    midazolam = dose_of(formulary.drug("midazolam"), Patient(75)).spoken()
    assert "fifteen, one five, milligrams. That is three millilitres of" in midazolam
    assert "seventy-five kilograms total weight:" in midazolam
    tall = Patient(121, height_cm=210, sex=Sex.MALE)
    propofol = dose_of(formulary.drug("propofol"), tall).volume_first()
    assert "eighteen, one eight, millilitres, rounded, of" in propofol


def test_what_is_never_given_in_low_pressure(formulary: Formulary) -> None:
    """Esmolol while the pressure is low is refused with the site's reason."""
    with pytest.raises(NoDose) as refusal:
        dose_of(formulary.drug("esmolol"), Patient(80, low_pressure=True))
    assert str(refusal.value) == (
        "No esmolol before laryngoscopy while the pressure is low: it lowers the pressure further."
    )


@pytest.mark.parametrize("age_years", [3, 17])
def test_no_dose_for_a_child_by_age(formulary: Formulary, age_years: int) -> None:
    """A child as heavy as an adult is refused by age."""
    with pytest.raises(NoDose, match="an age from eighteen to"):
        dose_of(formulary.drug("rocuronium"), Patient(70, age_years=age_years))


# mL/h = mcg/kg/min x kg x 60 / (mcg/mL), and the label's own example: dexmedetomidine 0.4 mcg/kg/h
# of 4 mcg/mL is 0.1 mL/kg/h. 4 mg in 250 mL are 16 mcg/mL (norepinephrine's premixed bag).
@pytest.mark.parametrize(
    ("name", "weight_kg", "ml_per_h"),
    [
        ("propofol/sedation", 70, "8.4"),  # 20 x 70 x 60 / 10 000
        ("epinephrine/infusion", 70, "26.3"),  # 0.1 x 70 x 60 / 16 = 26.25
        ("norepinephrine", 70, "30"),  # 8 x 60 / 16
        ("dexmedetomidine", 70, "7"),  # 0.4 x 70 / 4
        ("fentanyl/analgesia", 70, "7"),  # 1 x 70 / 10
        ("midazolam/sedation", 70, "2.8"),  # 0.04 x 70 / 1
    ],
)
def test_infusions_in_millilitres_per_hour(
    formulary: Formulary, name: str, weight_kg: int, ml_per_h: str
) -> None:
    """A rate per minute or hour becomes the pump's millilitres per hour."""
    drug, use = formulary.entry(name)
    answer = dose_of(drug, Patient(weight_kg), indication=use.id)
    assert answer.volume == quantity(Decimal(ml_per_h), "mL/h")
    assert f"{plain(Decimal(ml_per_h))} mL/h" in answer.written()
    assert " per hour" in answer.spoken()


def test_a_volume_question_leads_with_the_volume(formulary: Formulary) -> None:
    """The same figures, the volume first."""
    assert dose_of(formulary.drug("rocuronium"), Patient(70)).volume_first() == (
        "Rocuronium for paralysis, seventy kilograms total weight: eight point four millilitres "
        "of ten milligrams per millilitre. That is eighty-four milligrams. "
        "Check the label in hand."
    )


@pytest.mark.parametrize("low_pressure", [False, True])
def test_spoken_and_written_say_the_same(formulary: Formulary, low_pressure: bool) -> None:
    """Every number of the sentence for the eye is said in the one for the ear.

    A strength below 1 mg/mL is said in micrograms, and so is what is given from it.
    """
    for drug in formulary.drugs:
        for use in drug.indications:
            if low_pressure and use.never_when_pressure_is_low is not None:
                continue
            for weight_kg in (30, 63, 117, 200):
                patient = Patient(weight_kg, 170, Sex.MALE, low_pressure=low_pressure)
                answer = dose_of(drug, patient, indication=use.id)
                for number in re.findall(r"\d+(?:\.\d+)?", answer.written()):
                    amount = Decimal(number)
                    said = {say_number(amount), say_number(1000 * amount if amount < 1 else amount)}
                    assert any(one in answer.spoken() for one in said), answer.written()


@st.composite
def per_kilogram_drugs(draw: st.DrawFn, rocuronium: Drug) -> Drug:
    """A drug with any figures that a formulary might hold."""
    rate = draw(st.decimals("0.05", "20", places=2))
    mass = draw(st.sampled_from(["mg", "mcg"]))
    ceiling = rate * draw(st.integers(40, 300)) + draw(st.decimals("0", "1", places=2))
    maximum = rocuronium.indications[0].maximum
    drug = changed(
        rocuronium,
        per_ml=f"{plain(draw(st.decimals('0.1', '200', places=1)))} {mass}/mL",
        usual=f"{plain(rate)} {mass}/kg total weight",
        maximum=maximum.model_copy(update={"single_dose": Figure(ceiling, mass)}),
    )
    mark_ml = draw(st.sampled_from([Decimal("0.01"), Decimal("0.1"), Decimal("0.5")]))
    figures = {"graduation": Figure(mark_ml, "mL")}
    preparation = drug.preparations[0].model_copy(update=figures)
    return drug.model_copy(update={"preparations": (preparation,)})


def answered(drug: Drug, weight_kg: int) -> DoseAnswer | None:
    """The answer, or None where the dose is too small for the syringe."""
    try:
        return dose_of(drug, Patient(weight_kg), syringes=())
    except NoDose:
        use, preparation = drug.indications[0], drug.preparations[0]
        given = min(use.dose.usual.amount * weight_kg, use.maximum.most.amount)
        assert given / preparation.strength.amount < preparation.step.amount
        return None


@given(st.data())
def test_whatever_the_figures(formulary: Formulary, data: st.DataObject) -> None:
    """Never above the maximum, not less for a heavier person, and the volume holds the dose."""
    drug = data.draw(per_kilogram_drugs(formulary.drug("rocuronium")))
    use, preparation = drug.indications[0], drug.preparations[0]
    unit, maximum = mg_or_mcg(drug), use.maximum.most.amount
    one_mark = preparation.strength.amount * preparation.step.amount
    doses = []
    for weight_kg in sorted(data.draw(st.lists(st.integers(30, 200), min_size=2, max_size=2))):
        answer = answered(drug, weight_kg)
        if answer is None:
            continue
        dose = amount_in(answer.dose, unit)
        held = amount_in(answer.volume * answer.strength, unit)
        assert dose == min(use.dose.usual.amount * weight_kg, maximum)
        assert answer.capped == (use.dose.usual.amount * weight_kg > maximum)
        assert held <= maximum
        # Where the nearest mark would hold more than the maximum, the one below is taken.
        near = one_mark / 2 if dose + one_mark / 2 <= maximum else one_mark
        assert abs(held - dose) <= near
        assert answer.rounded == (held != dose)
        doses.append((dose, held))
    assert doses == sorted(doses)


@pytest.mark.parametrize(
    ("name", "weight_kg", "rate"),
    [
        # The site's own high dose: 50 mcg/kg/min, 0.1 mg/kg/h, 0.5 mcg/kg/min.
        ("propofol/sedation", 200, "10000 mcg/min"),
        ("midazolam/sedation", 200, "20 mg/h"),
        ("epinephrine/infusion", 200, "100 mcg/min"),
        ("epinephrine/infusion", 70, "35 mcg/min"),
    ],
)
def test_no_infusion_is_cut_below_the_site_s_own_high_dose(
    formulary: Formulary, name: str, weight_kg: int, rate: str
) -> None:
    """The highest rate of an infusion leaves the high dose of every adult whole."""
    drug, use = formulary.entry(name)
    answer = dose_of(at_its_high_dose(drug, use), Patient(weight_kg), indication=use.id)
    assert not answer.capped
    assert written(answer.dose) == rate


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("rocuronium", "at most 180 mg at once"),
        ("phenylephrine", "at most 200 mcg in all"),
        ("norepinephrine", "highest rate to start with 12 mcg/min"),
        ("epinephrine/infusion", "highest rate 0.5 mcg/kg/min"),
    ],
)
def test_a_maximum_is_called_what_it_is(formulary: Formulary, name: str, told: str) -> None:
    """Of one dose, of all together, of the rate to start with, or of every rate."""
    _, use = formulary.entry(name)
    assert maximum_of(use, written(use.maximum.most.quantity)) == told
