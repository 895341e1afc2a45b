"""What a formulary may hold, and the sentence that refuses the rest."""

from decimal import Decimal
from pathlib import Path

import pytest

from assistant.dosing.formulary import Formulary, Status, read_formulary
from assistant.errors import BadInput


def mutated(path: Path, tmp_path: Path, drug: str, old: str, new: str) -> tuple[str, int]:
    """The complaint about a formulary with one figure of a drug exchanged, and the line of it."""
    text = path.read_text(encoding="utf-8")
    at = text.index(old, text.index(f"- id: {drug}\n"))
    copy = tmp_path / "formulary.yaml"
    copy.write_text(text[:at] + new + text[at + len(old) :], encoding="utf-8")
    with pytest.raises(BadInput) as complaint:
        read_formulary(copy)
    return str(complaint.value), 1 + text[:at].count("\n")


def test_figures_are_exact(formulary: Formulary) -> None:
    """A YAML 1.2 is the decimal 1.2, not the nearest binary fraction."""
    assert formulary.drug("rocuronium").indication("paralysis").dose.usual == Decimal("1.2")
    assert formulary.drug("fentanyl").preparations[0].graduation_ml == Decimal("0.1")


def test_quoted_figures_are_exact_too(formulary_path: Path, tmp_path: Path) -> None:
    """A figure in quotation marks reads like one without."""
    text = formulary_path.read_text(encoding="utf-8").replace("usual: 1.2", 'usual: "1.2"')
    path = tmp_path / "formulary.yaml"
    path.write_text(text, encoding="utf-8")
    assert read_formulary(path) == read_formulary(formulary_path)


def test_every_figure_says_how_far_it_was_traced(formulary: Formulary) -> None:
    """Sources are named, and those not read are marked: propofol's strength is from memory."""
    marked = {drug.id for drug in formulary.drugs if drug.supplied.status is Status.MEMORY}
    assert marked == {"propofol"}
    for drug in formulary.drugs:
        for indication in drug.indications:
            assert indication.dose.published.source
            assert indication.maximum.source
            assert indication.acts.source


@pytest.mark.parametrize(
    ("drug", "old", "new", "key", "allowed"),
    [
        # Ten times too much: a lost decimal point.
        ("rocuronium", "usual: 1.2", "usual: 12", "usual", "0.6 to 1.2 as published in US"),
        (
            "etomidate",
            "low: 0.2\n          usual",
            "low: 0.02\n          usual",
            "low",
            "0.2 to 0.6",
        ),
        ("fentanyl", "high: 3", "high: 300", "high", "2 to 20 as published in US"),
        ("phenylephrine", "usual: 100", "usual: 1000", "usual", "40 to 100 as published in US"),
    ],
)
def test_a_figure_outside_its_published_range(
    *, formulary_path: Path, tmp_path: Path, drug: str, old: str, new: str, key: str, allowed: str
) -> None:
    """A mutated dose is refused with file, line, key, what was found and what is allowed."""
    complaint, line = mutated(formulary_path, tmp_path, drug, old, new)
    assert f"formulary.yaml, line {line}, key drugs." in complaint
    assert f".indications.0.dose.{key}: found " in complaint
    assert f"allowed: {allowed}" in complaint
    assert "or a reason stated beside it." in complaint


def test_a_reason_allows_it_and_without_it_nothing_does(
    formulary_path: Path, tmp_path: Path, formulary: Formulary
) -> None:
    """1.5 mg/kg of succinylcholine is above its label: only the stated reason lets it in."""
    dose = formulary.drug("succinylcholine").indications[0].dose
    assert dose.usual > dose.published.high
    assert dose.reason is not None
    complaint, _ = mutated(
        formulary_path, tmp_path, "succinylcholine", f"reason: {dose.reason}", "reason: null"
    )
    assert "found 1.5; allowed: 0.3 to 1.1 as published" in complaint


@pytest.mark.parametrize(
    ("drug", "old", "new", "key", "allowed"),
    [
        ("rocuronium", "usual: 1.2", "usual: 0.9", "dose.usual", "not less than the low dose, 1."),
        ("rocuronium", "high: 1.2\n        maximum", "high: 1.1\n        maximum", "dose.high",
         "not less than the usual dose, 1.2."),
        ("rocuronium", "usual: 1.2", "usual: 0", "dose.usual", "more than 0."),
        ("rocuronium", "usual: 1.2", "usual: yes", "dose.usual", "a number"),
        ("rocuronium", "usual: 1.2", "usual: about one", "dose.usual", "a number."),
        ("rocuronium", "unit: mg/kg\n", "unit: g/kg\n", "dose.unit", "'mg', 'mcg', 'mg/kg'"),
        ("rocuronium", "goes_by: total", "goes_by: guess", "indications.0.goes_by",
         "'total', 'ideal'"),
        ("rocuronium", "status: read", "status: sure", "supplied.status", "'read', 'quoted'"),
        ("rocuronium", "graduation_ml: 0.1", "graduation: 0.1", "graduation", "only the keys"),
        ("ketamine", "called: ketamine", "called: Ketamine 50", "called", "words without digits"),
        ("fentanyl", "low: 2", "low: 30", "published.high", "a high not below its low of 30."),
        ("epinephrine", "amount: 20", "amount: 15", "indications.0",
         "not below the high dose, 20."),
    ],
)  # fmt: skip
def test_what_is_refused(
    *, formulary_path: Path, tmp_path: Path, drug: str, old: str, new: str, key: str, allowed: str
) -> None:
    """Each mistake is named by its key and what is allowed there."""
    complaint, _ = mutated(formulary_path, tmp_path, drug, old, new)
    assert key in complaint
    assert allowed in complaint


@pytest.mark.parametrize(
    ("drug", "old", "new", "key", "found", "allowed"),
    [
        ("epinephrine", "id: epinephrine", "id: ketamine", "drugs.15.id", "'ketamine'",
         "each drug's id once"),
        ("epinephrine", "said: [adrenaline]", "said: [ketamine]", "drugs.15.said", "'ketamine'",
         "each name for one drug only, and ketamine has it already"),
        ("fentanyl", "graduation_ml: 0.1", "graduation_ml: 0.5",
         "drugs.4.preparations.0.graduation_ml", "0.5 mL",
         "at most 0.12 mL, as the smallest dose before laryngoscopy is 30 mcg"),
        ("norepinephrine", "pump_step_ml_per_h: 0.1", "pump_step_ml_per_h: 5",
         "drugs.16.preparations.0.pump_step_ml_per_h", "5 mL/h",
         "at most 1.5 mL/h, as the smallest dose infusion for low blood pressure is 2 mcg/min"),
        ("rocuronium", "maximum: {amount: 180", "maximum: {amount: 1800",
         "drugs.6.indications.0.maximum.amount", "1800",
         "from the usual dose at 30 kg, 36, to the high dose at 200 kg, 240"),
        ("epinephrine", "amount_per_ml: 10", "amount_per_ml: 100",
         "drugs.15.preparations.0.amount_per_ml",
         "100 mcg/mL", "what the recipe comes to, 10 mcg/mL"),
        ("epinephrine", "of_amount_per_ml: 0.1", "of_amount_per_ml: 0.2",
         "drugs.15.preparations.0.recipe.of_amount_per_ml", "0.2 mg/mL",
         "a strength that is supplied (0.1 mg/mL, 1 mg/mL)"),
        ("ketamine", "amount_per_ml: 10", "amount_per_ml: 20",
         "drugs.0.preparations.0.amount_per_ml", "20 mg/mL",
         "a strength that is supplied (10 mg/mL, 50 mg/mL, 100 mg/mL), or a recipe"),
        ("fentanyl", "allergens: [opioids]", "allergens: [opium]", "drugs.4.allergens.0",
         "'opium'", "one of the allergens"),
    ],
)  # fmt: skip
def test_drugs_are_checked_against_one_another(
    *,
    formulary_path: Path,
    tmp_path: Path,
    drug: str,
    old: str,
    new: str,
    key: str,
    found: str,
    allowed: str,
) -> None:
    """A name of two drugs, an id twice, and a syringe too coarse for the smallest dose."""
    complaint, line = mutated(formulary_path, tmp_path, drug, old, new)
    assert (
        f"formulary.yaml, line {line}, key {key}: found {found}; allowed: {allowed}." in complaint
    )


def test_an_indication_twice(formulary_path: Path, tmp_path: Path) -> None:
    """Two uses of one id in a drug are refused."""
    text = formulary_path.read_text(encoding="utf-8")
    start = text.index("      - id: paralysis\n", text.index("- id: rocuronium\n"))
    end = text.index("  - id: succinylcholine\n")
    path = tmp_path / "formulary.yaml"
    path.write_text(text[:end].rstrip() + "\n" + text[start:end] + text[end:], encoding="utf-8")
    with pytest.raises(BadInput, match="each indication's id once within a drug"):
        read_formulary(path)


def test_an_unknown_id_is_an_error(formulary: Formulary) -> None:
    """There is no nearest drug."""
    with pytest.raises(KeyError):
        formulary.drug("rocuroniun")


def test_all_names_of_a_drug(formulary: Formulary) -> None:
    """People may ask by either of the two generic names."""
    assert formulary.drug("epinephrine").names() == ("epinephrine", "adrenaline")
    assert formulary.drug("succinylcholine").names() == ("succinylcholine", "suxamethonium")


def test_a_use_may_have_its_own_name(formulary: Formulary) -> None:
    """ "Epinephrine infusion" is another use than "epinephrine", from another preparation."""
    keys = {words: key for words, key, _ in formulary.names()}
    assert keys["epinephrine"] == keys["adrenaline"] == "epinephrine"
    assert keys["adrenaline infusion"] == "epinephrine/infusion"
    drug, use = formulary.entry("epinephrine/infusion")
    assert (drug.id, use.id, drug.preparation(use).id) == ("epinephrine", "infusion", "pump")


def test_an_absent_drug_cannot_be_present(formulary_path: Path, tmp_path: Path) -> None:
    """A name cannot stand for a drug and for its absence."""
    text = formulary_path.read_text(encoding="utf-8")
    path = tmp_path / "formulary.yaml"
    path.write_text(text.replace("{called: naloxone", "{called: ketamine"), encoding="utf-8")
    with pytest.raises(BadInput, match="only drugs that are not on this formulary"):
        read_formulary(path)


def test_a_reason_is_a_sentence_for_the_start_of_a_case(formulary: Formulary) -> None:
    """Where the site leaves a published range, it says so."""
    assert list(formulary.reasons()) == [
        "succinylcholine for paralysis is above its label, as is common in a rapid sequence."
    ]


def test_recipes_are_read_out_in_steps(formulary: Formulary) -> None:
    """Push-dose epinephrine: 1 mL of 0.1 mg/mL to 10 mL is 10 mcg/mL (published reference)."""
    epinephrine = formulary.drug("epinephrine").preparations[0]
    assert epinephrine.recipe is not None
    assert epinephrine.recipe.steps("epinephrine", epinephrine.strength) == (
        "Draw up one millilitre of epinephrine, zero point one milligrams per millilitre.",
        "Make it up to ten millilitres with saline.",
        "Mix it and label it: epinephrine, ten micrograms per millilitre.",
    )
    vecuronium = formulary.drug("vecuronium").preparations[0]
    assert vecuronium.recipe is not None
    assert vecuronium.recipe.steps("vecuronium", vecuronium.strength)[0] == (
        "Take the vial of vecuronium powder, ten milligrams."
    )
