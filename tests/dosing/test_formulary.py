"""What a formulary may hold, and the sentence that refuses the rest."""

from decimal import Decimal
from pathlib import Path

import pytest

from assistant.dosing.formulary import Formulary, Status
from assistant.dosing.reading import read_formulary
from assistant.errors import BadInput
from tests.dosing.conftest import Exchanged


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
    assert formulary.drug("rocuronium").indication("paralysis").dose.usual.amount == Decimal("1.2")
    assert str(formulary.drug("fentanyl").preparations[0].graduation) == "0.1 mL"


def test_quoted_figures_are_exact_too(formulary_path: Path, exchanged: Exchanged) -> None:
    """A figure in quotation marks reads like one without."""
    figure = "1.2 mg/kg total weight"
    path = exchanged(formulary_path, f"usual: {figure}", f'usual: "{figure}"')
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
        (
            "rocuronium",
            "usual: 1.2",
            "usual: 12",
            "usual",
            "0.6 to 1.2 mg/kg total weight as published",
        ),
        (
            "etomidate",
            "low: 0.2 mg",
            "low: 0.02 mg",
            "low",
            "0.2 to 0.6 mg/kg",
        ),
        ("fentanyl", "high: 3", "high: 300", "high", "2 to 20 mcg/kg total weight as published"),
        ("phenylephrine", "usual: 100", "usual: 1000", "usual", "40 to 100 mcg as published in US"),
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
    assert dose.usual.quantity > dose.published.range.high.quantity
    assert dose.reason is not None
    complaint, _ = mutated(
        formulary_path, tmp_path, "succinylcholine", f"reason: {dose.reason}", "reason: null"
    )
    assert "found '1.5 mg/kg total weight'; allowed: 0.3 to 1.1 mg/kg total weight as" in complaint


@pytest.mark.parametrize(
    ("drug", "old", "new", "key", "allowed"),
    [
        ("rocuronium", "usual: 1.2", "usual: 0.9", "dose.usual",
         "not less than the low dose, 1 mg/kg total weight."),
        ("rocuronium", "high: 1.2", "high: 1.1", "dose.high",
         "not less than the usual dose, 1.2 mg/kg total weight."),
        ("rocuronium", "usual: 1.2", "usual: 0", "dose.usual", "numbers above zero"),
        ("rocuronium", "usual: 1.2", "usual: yes", "dose.usual", "a number with its unit"),
        ("rocuronium", "usual: 1.2", "usual: about one", "dose.usual", "a number with its unit ("),
        ("rocuronium", "usual: 1.2 mg/kg total weight", "usual: 1.2", "dose.usual",
         "a number with its unit ("),
        ("rocuronium", "usual: 1.2 mg/kg total weight", "usual: 1.2 mg/kg", "dose.usual",
         "mg/kg total, ideal, lean, adjusted or predicted weight."),
        ("rocuronium", "usual: 1.2 mg/kg total", "usual: 1.2 mg/kg lean", "dose.usual",
         "the unit mg/kg total weight, as the published range beside it."),
        ("rocuronium", "usual: 1.2 mg/kg", "usual: 1.2 mg/kg/h", "dose.usual",
         "the unit mg/kg total weight, as the published range beside it."),
        ("rocuronium", "usual: 1.2 mg", "usual: 1.2 mcg", "dose.usual",
         "the unit mg/kg of the published range, 0.6 to 1.2 mg/kg total weight"),
        ("ketamine", "low: 0.5 mg", "low: 0.5 mcg", "when_pressure_is_low.low",
         "the unit mg/kg of the published range"),
        ("rocuronium", "single_dose: 180 mg", "single_dose: 180 mg/h", "maximum.single_dose",
         "a maximum with the unit mg."),
        ("rocuronium", "single_dose: 180 mg", "highest_rate: 180 mg/h", "maximum.highest_rate",
         "a single_dose or total in its place."),
        ("rocuronium", "usual: 1.2 mg/kg", "usual: 1.2 g/kg", "dose.usual",
         "the unit mg or mcg or mg/kg"),
        ("rocuronium", "usual: 1.2 mg/kg total", "usual: 1.2 mg/kg guessed", "dose.usual",
         "mg/kg total, ideal, lean"),
        ("rocuronium", "route: intravenous", "route: into a vein", "indications.0.route",
         "'intravenous'"),
        ("rocuronium", "status: read", "status: sure", "supplied.status", "'read', 'quoted'"),
        ("rocuronium", "graduation: 0.1", "marks: 0.1", "marks", "only the keys"),
        ("ketamine", "called: ketamine", "called: Ketamine 50", "called", "words without digits"),
        ("fentanyl", "range: 2 to 20", "range: 30 to 20", "published.range",
         "the lower one first."),
        ("epinephrine", "single_dose: 20", "single_dose: 15", "0.maximum.single_dose",
         "not below the high dose, 20 mcg."),
        ("epinephrine", "highest_rate: 0.5", "highest_rate: 0.1", "1.maximum.highest_rate",
         "not below the high dose, 0.5 mcg/kg/min total weight."),
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
        ("fentanyl", "graduation: 0.1", "graduation: 0.5",
         "drugs.4.preparations.0.graduation", "0.5 mL",
         "at most 0.12 mL, as the smallest dose before laryngoscopy is 30 mcg"),
        ("norepinephrine", "pump_step: 0.1", "pump_step: 5",
         "drugs.16.preparations.0.pump_step", "5 mL/h",
         "at most 1.5 mL/h, as the smallest dose infusion for low blood pressure is 2 mcg/min"),
        ("rocuronium", "single_dose: 180", "single_dose: 1800",
         "drugs.6.indications.0.maximum.single_dose", "1800 mg",
         "from the usual dose at 30 kg, 36 mg, to the high dose at 200 kg, 240 mg"),
        ("propofol", "highest_rate: 50 mcg/kg/min total weight", "highest_rate: 3000 mcg/min",
         "drugs.2.indications.1.maximum.highest_rate", "3000 mcg/min",
         "50 mcg/kg/min total weight or above, as no infusion is cut below its high dose"),
        ("rocuronium", "strengths: [10 mg/mL]", "strengths: [10 mg/mL, 10 mg/mL]",
         "drugs.6.supplied.strengths.1", "10 mg/mL", "each strength once"),
        ("epinephrine", "strength: 10", "strength: 100",
         "drugs.15.preparations.0.strength",
         "100 mcg/mL", "what the recipe comes to, 10 mcg/mL"),
        ("epinephrine", "of: 0.1", "of: 0.2",
         "drugs.15.preparations.0.recipe.of", "0.2 mg/mL",
         "a strength that is supplied (0.1 mg/mL, 1 mg/mL)"),
        ("ketamine", "strength: 10", "strength: 20",
         "drugs.0.preparations.0.strength", "20 mg/mL",
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
    with pytest.raises(BadInput, match=r"indications.1.id: found 'paralysis'; .*: each id once"):
        read_formulary(path)


def test_an_allergen_twice(formulary_path: Path, exchanged: Exchanged) -> None:
    """A further allergen with the id of one that bars a drug is refused."""
    path = exchanged(formulary_path, "{id: latex", "{id: opioids")
    with pytest.raises(BadInput, match="found 'opioids'; allowed: each allergen's id once"):
        read_formulary(path)


def test_an_unknown_id_is_an_error(formulary: Formulary) -> None:
    """There is no nearest drug."""
    with pytest.raises(KeyError):
        formulary.drug("rocuroniun")


def test_all_names_of_a_drug(formulary: Formulary) -> None:
    """People may ask by any of its generic names, or by its short one."""
    assert formulary.drug("epinephrine").names() == ("epinephrine", "adrenaline")
    assert formulary.drug("succinylcholine").names() == (
        "succinylcholine",
        "suxamethonium",
        "sux",
    )


def test_a_use_may_have_its_own_name(formulary: Formulary) -> None:
    """ "Epinephrine infusion" is another use than "epinephrine", from another preparation."""
    keys = {words: key for words, key, _ in formulary.names()}
    assert keys["epinephrine"] == keys["adrenaline"] == "epinephrine"
    assert keys["adrenaline infusion"] == "epinephrine/infusion"
    drug, use = formulary.entry("epinephrine/infusion")
    assert (drug.id, use.id, drug.preparation(use).id) == ("epinephrine", "infusion", "pump")


def test_an_absent_drug_cannot_be_present(formulary_path: Path, exchanged: Exchanged) -> None:
    """A name cannot stand for a drug and for its absence."""
    path = exchanged(formulary_path, "{called: naloxone", "{called: ketamine")
    with pytest.raises(BadInput, match="only drugs that are not on this formulary"):
        read_formulary(path)


def test_a_reason_is_a_sentence_for_the_start_of_a_case(formulary: Formulary) -> None:
    """Where the site leaves a published range, it says so."""
    drug, use = formulary.entry("succinylcholine")
    assert list(formulary.reasons_of(drug, use)) == [
        "succinylcholine for paralysis is above its label, as is common in a rapid sequence."
    ]


def test_recipes_are_read_out_in_steps(formulary: Formulary) -> None:
    """Push-dose epinephrine: 1 mL of 0.1 mg/mL to 10 mL is 10 mcg/mL (published reference)."""
    epinephrine = formulary.drug("epinephrine").preparations[0]
    assert epinephrine.recipe is not None
    supplied = formulary.drug("epinephrine").supplied
    assert epinephrine.recipe.steps("epinephrine", epinephrine.strength, supplied) == (
        (
            "Draw up one millilitre of epinephrine, one hundred micrograms per millilitre. "
            "Not from one milligram per millilitre."
        ),
        "Add nine millilitres of saline: ten millilitres in all.",
        "Mix it and label it: epinephrine, ten micrograms per millilitre.",
    )
    vecuronium = formulary.drug("vecuronium").preparations[0]
    assert vecuronium.recipe is not None
    supplied = formulary.drug("vecuronium").supplied
    assert vecuronium.recipe.steps("vecuronium", vecuronium.strength, supplied)[:2] == (
        "Take the vial of vecuronium powder, ten milligrams.",
        "Make it up to ten millilitres with water for injection.",
    )


def test_a_bag_is_emptied_before_it_is_filled(formulary: Formulary) -> None:
    """4 mL into 250 mL are 254, and weaker: as much is taken out first."""
    bag = formulary.drug("norepinephrine").preparations[0]
    assert bag.recipe is not None
    supplied = formulary.drug("norepinephrine").supplied
    assert bag.recipe.steps("norepinephrine", bag.strength, supplied) == (
        (
            "Take four millilitres out of a bag of two hundred and fifty millilitres of five "
            "percent dextrose."
        ),
        (
            "Draw up four millilitres of norepinephrine, one milligram per millilitre. Not from "
            "sixteen micrograms per millilitre or thirty-two micrograms per millilitre."
        ),
        "Put the four millilitres into the bag.",
        "Mix it and label it: norepinephrine, sixteen micrograms per millilitre.",
    )


def test_the_names_of_a_drug_are_one_allergen(formulary_path: Path, tmp_path: Path) -> None:
    """Its own, also where an allergen has one of them, which bars the drug though the drug does not
    list it; an allergen with a drug's id has that drug's names."""
    path = tmp_path / "formulary.yaml"
    text = formulary_path.read_text("utf-8")
    text = text.replace(
        "further_allergens:",
        "  - {id: adrenaline-or-latex, called: one of two, said: [adrenaline]}\n"
        "  - {id: atropine, called: belladonna, said: [belladonna]}\n\nfurther_allergens:",
        1,
    )
    path.write_text(text, "utf-8")
    formulary = read_formulary(path)

    said = {one.id: one.said for one in formulary.all_allergens()}
    assert said["epinephrine"] == ("epinephrine", "adrenaline")
    assert said["adrenaline-or-latex"] == ()
    assert said["atropine"] == ("belladonna", "atropine")
    assert len(said) == len(formulary.all_allergens())
    told = {one.id for one in formulary.allergies_told_with(formulary.drug("epinephrine"))}
    assert "adrenaline-or-latex" in told


@pytest.mark.parametrize(
    "said", ['["muscle relaxants"]', '["rocuronium", "vecuronium", "succinylcholine"]']
)
def test_a_class_bars_by_what_lists_it(
    formulary_path: Path, exchanged: Exchanged, said: str
) -> None:
    """Whoever is allergic to one relaxant is told so with another, named there or not."""
    named = '["muscle relaxants", "rocuronium", "vecuronium", "succinylcholine"]'
    formulary = read_formulary(exchanged(formulary_path, named, said, times=1))
    rocuronium = formulary.drug("rocuronium")

    assert "succinylcholine" in formulary.barred_by(rocuronium)
    assert "propofol" not in formulary.barred_by(rocuronium)
    group = formulary.class_with(rocuronium, "succinylcholine")
    assert group is not None
    assert group.id == "relaxants"


def test_what_drugs_have_in_them_is_no_class_of_drugs(formulary_path: Path) -> None:
    """Sulphites bar epinephrine; an allergy to hydromorphone, which has some too, does not."""
    formulary = read_formulary(formulary_path)
    barred_by = formulary.barred_by(formulary.drug("epinephrine"))
    assert "sulphites" in barred_by
    assert "hydromorphone" not in barred_by


def test_an_absent_drug_bars_what_an_allergen_names_it_with(
    formulary_path: Path, exchanged: Exchanged
) -> None:
    """By itself it bars nothing; named by a class, it is of that class."""
    path = exchanged(formulary_path, '"morphine", ', '"morphine", "remifentanil", ', times=1)
    fentanyl = read_formulary(formulary_path).drug("fentanyl")

    assert "remifentanil" not in read_formulary(formulary_path).barred_by(fentanyl)
    assert "remifentanil" in read_formulary(path).barred_by(fentanyl)


def test_words_of_two_allergens(formulary_path: Path, tmp_path: Path) -> None:
    """One sentence where they stand; a drug's name stands for the drug, whatever lists it."""
    path = tmp_path / "formulary.yaml"
    text = formulary_path.read_text("utf-8")
    latex = 'called: latex, said: ["latex"]'
    path.write_text(text.replace(latex, 'called: latex, said: ["latex", "sulphites"]', 1), "utf-8")
    allowed = "words for one allergen only, and sulphites has these already"
    with pytest.raises(BadInput, match=f"found 'sulphites'; allowed: {allowed}") as refused:
        read_formulary(path)
    assert len(str(refused.value).splitlines()) == 1

    path.write_text(text.replace(latex, 'called: latex, said: ["latex", "rocuronium"]', 1), "utf-8")
    assert "rocuronium" in {one.id for one in read_formulary(path).all_allergens()}
