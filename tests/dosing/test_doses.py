"""Doses and volumes, against the ranges of published labels and by property."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dosing.doses import DoseAnswer, Size, dose_of
from assistant.dosing.formulary import DosePerKilogram, Drug, Formulary, Strength
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import MassUnit
from assistant.dosing.weights import Sex, WeightKind


def changed(drug: Drug, *, per_ml: str | None = None, **dose: Any) -> Drug:
    """The drug with figures of its dose, or its strength, exchanged."""
    use = drug.indications[0]
    exchanged = use.model_copy(update={"dose": use.dose.model_copy(update=dose)})
    strength: Strength = drug.strength
    if per_ml is not None:
        strength = strength.model_copy(update={"amount_per_ml": Decimal(per_ml)})
    return drug.model_copy(update={"indications": (exchanged,), "strength": strength})


def at_rate(drug: Drug, rate: str, per_ml: str) -> Drug:
    """The drug at another dose per kilogram and strength."""
    return changed(drug, per_ml=per_ml, usual=Decimal(rate))


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
    drug = at_rate(formulary.drug(drug_id), rate, per_ml)
    answer = dose_of(drug, weight_kg)
    exact_ml = Decimal(volume_ml)
    assert answer.dose.amount == Decimal(dose)
    assert answer.concentration.volume_ml(answer.dose) == exact_ml
    assert abs(answer.volume_ml - exact_ml) <= drug.graduation_ml / 2
    assert answer.volume_ml % drug.graduation_ml == 0
    assert answer.rounded == (answer.volume_ml != exact_ml)


# The site's usual dose for 70 kg, with the published figure it rests on.
USUAL_AT_70_KG = {
    "ketamine": ("105", "mg", "2.1"),  # US label 1-4.5 mg/kg, 50 mg/mL
    "etomidate": ("21", "mg", "10.5"),  # US label, usual 0.3 mg/kg, 2 mg/mL
    "propofol": ("105", "mg", "10.5"),  # US label 1-1.5 mg/kg if ill; 10 mg/mL from memory
    "midazolam": ("14", "mg", "2.8"),  # US label, severe disease 0.2-0.25 mg/kg (quoted)
    "fentanyl": ("140", "mcg", "2.8"),  # US label table 1, 2 mcg/kg = 0.04 mL/kg
    "rocuronium": ("84", "mg", "8.4"),  # US label, rapid sequence 0.6-1.2 mg/kg (quoted)
    "succinylcholine": ("105", "mg", "5.3"),  # 1.5 mg/kg: common practice, above the US label
    "vecuronium": ("7", "mg", "7"),  # US label 0.08-0.1 mg/kg, 1 mg/mL
    "sugammadex": ("1120", "mg", "11.2"),  # US label 16 mg/kg actual weight, 100 mg/mL
    "phenylephrine": ("100", "mcg", "1"),  # US label of the ready-to-use syringe, 40-100 mcg
    "epinephrine": ("10", "mcg", "1"),  # common practice, off label: 5-20 mcg of 10 mcg/mL
}


def test_every_drug_of_the_formulary(formulary: Formulary) -> None:
    """No drug is in the demonstration formulary whose usual dose is not checked here."""
    found = {}
    for drug in formulary.drugs:
        answer = dose_of(drug, 70, adults=formulary.adults)
        found[drug.id] = (answer.dose.amount, answer.dose.unit.value, answer.volume_ml)
    expected = {
        drug_id: (Decimal(dose), unit, Decimal(volume_ml))
        for drug_id, (dose, unit, volume_ml) in USUAL_AT_70_KG.items()
    }
    assert found == expected


def test_a_milligram_dose_of_a_microgram_ampoule(formulary: Formulary) -> None:
    """0.002 mg/kg of fentanyl is the label's 2 mcg/kg and the same volume, not a thousandth."""
    drug = changed(formulary.drug("fentanyl"), usual=Decimal("0.002"), unit=MassUnit.MG)
    assert dose_of(drug, 70).dose.amount == Decimal("0.14")
    assert dose_of(drug, 70).volume_ml == Decimal("2.8")


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
    drug = changed(formulary.drug("rocuronium"), goes_by=WeightKind(kind))
    answer = dose_of(drug, 120, **OBESE)
    assert answer.weight_kind is WeightKind(kind)
    assert answer.weight_kg == Decimal(weight_kg)
    assert answer.dose.amount == Decimal(dose)
    assert f"kilograms {kind} weight: " in answer.spoken()


def test_a_slim_person_is_not_given_a_lean_dose(formulary: Formulary) -> None:
    """Lean weight is for obese adults: at 70 kg and 170 cm it would give 22 % too little."""
    drug = changed(formulary.drug("rocuronium"), goes_by=WeightKind.LEAN)
    answer = dose_of(drug, 70, **OBESE)
    assert answer.weight_kind is WeightKind.TOTAL
    assert answer.dose.amount == 84
    assert "seventy kilograms total weight" in answer.spoken()
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
    drug = changed(formulary.drug("propofol"), goes_by=WeightKind.LEAN)
    with pytest.raises(NoDose) as refusal:
        dose_of(drug, 70, **known)
    assert str(refusal.value) == (
        f"No dose of propofol: it goes by lean weight here, and I do not know {missing}."
    )


def test_no_weight_no_dose(formulary: Formulary) -> None:
    """Without a weight only a fixed dose is given."""
    with pytest.raises(NoDose, match=r"^No dose of ketamine: I do not know the weight\.$"):
        dose_of(formulary.drug("ketamine"), None)
    assert dose_of(formulary.drug("epinephrine"), None).dose.amount == 10


@pytest.mark.parametrize("weight_kg", [0, -5, 3, 29, Decimal("29.9"), Decimal("200.1"), 201, 700])
@pytest.mark.parametrize("drug_id", ["rocuronium", "epinephrine"])
def test_only_adults(formulary: Formulary, drug_id: str, weight_kg: int | Decimal) -> None:
    """Outside the adult range there is no dose, fixed ones included."""
    with pytest.raises(NoDose) as refusal:
        dose_of(formulary.drug(drug_id), weight_kg, adults=formulary.adults)
    assert str(refusal.value) == (
        f"No dose of {drug_id}: "
        "I only know doses for a weight from thirty to two hundred kilograms."
    )


def test_a_height_misheard_is_refused(formulary: Formulary) -> None:
    """A height of 17 or 270 cm gives no dose."""
    for height_cm in (17, 270):
        with pytest.raises(NoDose, match="a height from one hundred and thirty to"):
            dose_of(formulary.drug("rocuronium"), 70, height_cm=height_cm)


def test_sentences_for_the_ear(formulary: Formulary) -> None:
    """One form: drug, what for, weight and its kind, dose, volume, strength, caution."""
    rocuronium = formulary.drug("rocuronium")
    assert dose_of(rocuronium, 70).spoken() == (
        "Rocuronium for paralysis, seventy kilograms total weight: eighty-four milligrams. "
        "That is eight point four millilitres of ten milligrams per millilitre. "
        "Check the label in hand."
    )
    assert dose_of(rocuronium, 70).written() == (
        "Rocuronium for paralysis, 70 kg total weight: 84 mg = 8.4 mL of 10 mg/mL. "
        "Check the label in hand."
    )
    assert dose_of(formulary.drug("phenylephrine"), 70).spoken() == (
        "Phenylephrine for low blood pressure, fixed dose: one hundred micrograms. "
        "That is one millilitre of one hundred micrograms per millilitre. Check the label in hand."
    )


def test_rounding_is_said(formulary: Formulary) -> None:
    """A rounded volume is called so, and the working shows what it holds."""
    answer = dose_of(formulary.drug("rocuronium"), 63)
    assert answer.rounded
    assert (
        "seventy-five point six milligrams. That is seven point six millilitres, rounded, of"
        in (answer.spoken())
    )
    assert "75.6 mg = 7.6 mL (rounded) of 10 mg/mL" in answer.written()
    assert answer.working == (
        "1.2 mg/kg x 63 kg = 75.6 mg; 75.6 mg at 10 mg/mL = 7.56 mL; "
        "to 0.1 mL: 7.6 mL, which is 76 mg"
    )


def test_capping_is_said(formulary: Formulary) -> None:
    """A dose cut to the maximum is called so."""
    answer = dose_of(formulary.drug("rocuronium"), 160)
    assert answer.capped
    assert answer.dose.amount == 180
    assert (
        "one hundred and eighty milligrams, the maximum here. That is eighteen millilitres of"
        in (answer.spoken())
    )
    assert "180 mg (the maximum here) = 18 mL" in answer.written()
    assert "1.2 mg/kg x 160 kg = 192 mg; above the maximum, so 180 mg" in answer.working
    assert not dose_of(formulary.drug("rocuronium"), 150).capped


def test_rounding_never_goes_above_the_maximum(formulary: Formulary) -> None:
    """225 mg of 20 mg/mL are 11.25 mL: the half goes down, as 11.3 mL would be 226 mg."""
    answer = dose_of(formulary.drug("succinylcholine"), 200)
    assert answer.volume_ml == Decimal("11.2")


def test_low_and_high_doses_are_called_so(formulary: Formulary) -> None:
    """Another than the usual dose names itself."""
    low = dose_of(formulary.drug("rocuronium"), 70, size=Size.LOW)
    assert low.dose.amount == 70
    assert low.spoken().startswith("Rocuronium for paralysis, low dose, seventy kilograms")
    assert dose_of(formulary.drug("fentanyl"), 70, size=Size.HIGH).dose.amount == 210


def test_the_answer_names_its_source(formulary: Formulary) -> None:
    """Every answer says where its range was published, how surely, and why it is left."""
    assert "section 2.2, table 1 (read)" in dose_of(formulary.drug("fentanyl"), 70).source
    assert "the site's reason: common practice" in (
        dose_of(formulary.drug("succinylcholine"), 70).source
    )


def test_an_unknown_indication_is_an_error(formulary: Formulary) -> None:
    """Another use of the drug is never answered with the first one's dose."""
    with pytest.raises(KeyError):
        dose_of(formulary.drug("ketamine"), 70, indication="sedation")


@st.composite
def per_kilogram_drugs(draw: st.DrawFn, rocuronium: Drug) -> Drug:
    """A drug with any figures that a formulary might hold."""
    rate = draw(st.decimals("0.05", "20", places=2))
    unit = draw(st.sampled_from(MassUnit))
    maximum = rocuronium.indications[0].dose.maximum
    ceiling = rate * draw(st.integers(40, 300)) + draw(st.decimals("0", "1", places=2))
    drug = changed(
        rocuronium,
        per_ml=str(draw(st.decimals("0.1", "200", places=1))),
        unit=unit,
        usual=rate,
        maximum=maximum.model_copy(update={"amount": ceiling}),
    )
    strength = drug.strength.model_copy(update={"unit": unit})
    graduation_ml = draw(st.sampled_from([Decimal("0.01"), Decimal("0.1"), Decimal("0.5")]))
    return drug.model_copy(update={"strength": strength, "graduation_ml": graduation_ml})


def answered(drug: Drug, weight_kg: int) -> DoseAnswer | None:
    """The answer, or None where the dose is too small for the syringe."""
    try:
        return dose_of(drug, weight_kg)
    except NoDose:
        dose = drug.indications[0].dose
        given = min(dose.usual * weight_kg, dose.maximum.amount)
        assert given / drug.strength.amount_per_ml < drug.graduation_ml
        return None


@given(st.data())
def test_whatever_the_figures(formulary: Formulary, data: st.DataObject) -> None:
    """Never above the maximum, not less for a heavier person, and the volume holds the dose."""
    drug = data.draw(per_kilogram_drugs(formulary.drug("rocuronium")))
    light_kg, heavy_kg = sorted(data.draw(st.lists(st.integers(30, 200), min_size=2, max_size=2)))
    light, heavy = answered(drug, light_kg), answered(drug, heavy_kg)
    for answer, weight_kg in ((light, light_kg), (heavy, heavy_kg)):
        if answer is None:
            continue
        dose = drug.indications[0].dose
        assert isinstance(dose, DosePerKilogram)
        maximum = dose.maximum.amount
        held = answer.concentration.mass_in(answer.volume_ml, answer.dose.unit).amount
        one_mark = answer.concentration.mass_in(drug.graduation_ml, answer.dose.unit).amount
        assert answer.dose.amount == min(dose.usual * weight_kg, maximum)
        assert answer.capped == (dose.usual * weight_kg > maximum)
        assert held <= maximum
        assert abs(held - answer.dose.amount) <= one_mark / 2 or (
            # Where the nearest mark would hold more than the maximum, the one below is taken.
            held < answer.dose.amount < held + one_mark and held + one_mark > maximum
        )
        assert "Check the label in hand." in answer.spoken()
    if light is not None:
        assert heavy is not None
        assert light.dose.amount <= heavy.dose.amount
        assert light.volume_ml <= heavy.volume_ml
