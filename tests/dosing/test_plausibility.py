"""What lies outside the program's own reference, and the two roles that may stand for it."""

from pathlib import Path

import pytest

from assistant.dosing import known_names
from assistant.dosing.card import card
from assistant.dosing.patient import Patient
from assistant.dosing.reading import read_figures, read_formulary
from assistant.dosing.yardstick import yardstick
from assistant.errors import BadInput
from tests.dosing.conftest import Exchanged

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
CONFIRMED = """
confirmed:
  - place: midazolam/induction/dose/high
    found: 0.5 mg/kg total weight
    reason: studied here
    by: [pharmacist, head of department]

drugs:"""


def outside(path: Path, tmp_path: Path, confirmed: str) -> Path:
    """The formulary with midazolam above every label, for a reason, and what is confirmed."""
    text = path.read_text(encoding="utf-8")
    at = text.index("high: 0.3 mg/kg", text.index("- id: midazolam\n"))
    text = text[:at] + "high: 0.5 mg/kg" + text[at + len("high: 0.3 mg/kg") :]
    low = text.rindex("          low: 0.15 mg/kg", 0, at)
    text = f"{text[:low]}          reason: by our own study\n{text[low:]}"
    copy = tmp_path / "formulary.yaml"
    copy.write_text(text.replace("\ndrugs:", confirmed, 1), encoding="utf-8")
    return copy


def test_a_reason_alone_does_not_leave_the_reference(formulary_path: Path, tmp_path: Path) -> None:
    """The site's own reason is one person's; the complaint says what else is needed."""
    with pytest.raises(BadInput) as refused:
        read_formulary(outside(formulary_path, tmp_path, "\ndrugs:"))
    assert "found 0.5 mg/kg total weight; allowed: 0.15 to 0.35 mg/kg total weight" in str(
        refused.value
    )
    assert "two roles under confirmed, place midazolam/induction/dose/high" in str(refused.value)


def test_two_roles_let_it_in_and_the_card_lists_it(formulary_path: Path, tmp_path: Path) -> None:
    """What two roles stand for is allowed, and is on the drug card."""
    formulary = read_formulary(outside(formulary_path, tmp_path, CONFIRMED))
    (one,) = formulary.confirmed
    assert one.told() == (
        "midazolam/induction/dose/high: 0.5 mg/kg total weight, studied here "
        "(pharmacist and head of department)"
    )
    assert one.told() in card(formulary, Patient(70))


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("[pharmacist, head of department]", "[pharmacist]", "at least two"),
        ("[pharmacist, head of department]", "[pharmacist, Pharmacist]", "different roles"),
        # It holds for the one figure that was confirmed.
        ("found: 0.5 mg", "found: 0.7 mg", "found 0.5 mg/kg total weight; allowed: 0.15 to 0.35"),
        ("confirmed:", "confirmed:\n  - {place: x, found: y, reason: z, by: [a, b]}",
         "found x: y; allowed: only what the program"),
    ],
)  # fmt: skip
def test_a_confirmation_is_for_one_figure_and_by_two(
    *, formulary_path: Path, tmp_path: Path, old: str, new: str, complaint: str
) -> None:
    """One role, the same twice, another figure or one that needs none: refused."""
    with pytest.raises(BadInput, match=complaint):
        read_formulary(outside(formulary_path, tmp_path, CONFIRMED.replace(old, new)))


@pytest.mark.parametrize(
    ("drug", "old", "new", "key", "sentence"),
    [
        ("rocuronium", "called: rocuronium", "called: vecuronium", "called", "is vecuronium"),
        (
            "rocuronium",
            "called: rocuronium",
            "called: rocuronium\n    said: [sux]",
            "said.0",
            "sux is succinylcholine",
        ),
        (
            "epinephrine",
            "said: [adrenaline]",
            "said: [noradrenaline]",
            "said.0",
            "noradrenaline is norepinephrine",
        ),
        (
            "fentanyl",
            "called: fentanyl",
            "called: fentanyl\n    said: [morphine]",
            "said.0",
            "morphine is morphine",
        ),
        (
            "rocuronium",
            "allergens: [relaxants]",
            "allergens: [opioids]",
            "allergens.0",
            "an allergen of its own class; opioids names opioids",
        ),
        (
            "lidocaine",
            "allergens: [local-anaesthetics]",
            "allergens: [relaxants]",
            "allergens.0",
            "relaxants names relaxants",
        ),
    ],
)
def test_a_name_and_a_class_of_another_drug_are_refused(
    formulary_path: Path, tmp_path: Path, *, drug: str, old: str, new: str, key: str, sentence: str
) -> None:
    """Who asks for one would be told of the other, or not be warned of an allergy."""
    head, its_own = formulary_path.read_text(encoding="utf-8").split(f"  - id: {drug}\n")
    assert old in its_own
    path = tmp_path / "formulary.yaml"
    path.write_text(f"{head}  - id: {drug}\n{its_own.replace(old, new, 1)}", encoding="utf-8")
    with pytest.raises(BadInput, match=rf"drugs\.[0-9]+\.{key}: found .*{sentence}"):
        read_formulary(path)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("called: epinephrine\n    said: [adrenaline]", "called: adrenaline"),
        ("called: lidocaine", "called: lignocaine"),
        ('"muscle relaxants", "rocuronium", "vecuronium"', '"all that relaxes"'),
        ("said: [ket]", "said: [ket, racemic ketamine]"),
    ],
)
def test_another_name_of_the_same_drug_is_allowed(
    formulary_path: Path, exchanged: Exchanged, old: str, new: str
) -> None:
    """As places differ in what they call it."""
    assert read_formulary(exchanged(formulary_path, old, new, times=1)).drugs


def test_every_row_of_the_reference_names_its_source() -> None:
    """Title or label, and how far it was read; the factor is small enough for a decimal point."""
    known = yardstick()
    assert 1 <= known.factor <= 2
    for drug in known.drugs:
        for use in drug.uses:
            assert len(use.source) > 10
            assert use.ranges()[0].low.quantity <= use.ranges()[0].high.quantity


@pytest.mark.parametrize(
    ("old", "new"),
    [("plus_cm: 4", "plus_cm: 0.4"), ("per_centimetre: 0.1", "per_centimetre: 0.01")],
)
def test_a_rule_for_the_depth_that_no_tube_has_is_refused(
    exchanged: Exchanged, old: str, new: str
) -> None:
    """A slip of the point in it would call every usual depth far, or none."""
    with pytest.raises(BadInput, match="a rule that comes to 19 to 25 cm at 160 cm"):
        read_figures(exchanged(SITE / "figures.yaml", old, new))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("allergens: [opioids]", "allergens: [sulphites]", "No allergy to opioids bars fentanyl"),
        ("allergens: [relaxants]", "allergens: [latex-too]", "No allergy to relaxants bars"),
    ],
)
def test_a_class_that_does_not_bar_its_drug_is_told(
    formulary_path: Path, tmp_path: Path, old: str, new: str, told: str
) -> None:
    """By `check`; the site's own name for a class cannot be known, so that nothing is refused."""
    assert list(known_names.remarks(read_formulary(formulary_path))) == []
    text = formulary_path.read_text(encoding="utf-8").replace(old, new, 1)
    own = "  - {id: latex-too, called: latex, said: [latex gloves]}\n\nfurther_allergens:"
    path = tmp_path / "formulary.yaml"
    path.write_text(text.replace("further_allergens:", own, 1), encoding="utf-8")

    (only,) = known_names.remarks(read_formulary(path))
    assert only.startswith(told)
