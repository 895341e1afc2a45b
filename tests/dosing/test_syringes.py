"""The syringes that a site has: which lists are refused, and what comes of a shorter one."""

from decimal import Decimal
from pathlib import Path

import pytest

from assistant.dosing.doses import dose_of
from assistant.dosing.handling import remarks
from assistant.dosing.patient import Patient
from assistant.dosing.reading import read_formulary
from assistant.dosing.units import quantity
from assistant.errors import BadInput
from tests.dosing.conftest import Exchanged

LAST = "  - {holds: 60 mL, marks: 1 mL}\n"


@pytest.mark.parametrize(
    ("old", "new", "allowed"),
    [
        ("holds: 5 mL", "holds: 12 mL", "from the smallest to the largest, each size once"),
        ("holds: 5 mL", "holds: 3 mL", "from the smallest to the largest, each size once"),
        ("10 mL, marks: 0.2", "10 mL, marks: 2", "marks of 1 mL and finer for 10 mL, after 5 mL"),
        ("10 mL, marks: 0.2", "10 mL, marks: 0.02", "into whole steps, up to 120"),
        ("10 mL, marks: 0.2", "10 mL, marks: 0.3", "marks that divide 10 mL into whole steps"),
        ("marks: 0.2 mL", "marks: 0.2 mg", "the unit mL"),
        ("marks: 0.2 mL", "mark: 0.2 mL", "such as marks"),
    ],
)
def test_a_list_that_makes_no_sense_is_refused(
    *, formulary_path: Path, exchanged: Exchanged, old: str, new: str, allowed: str
) -> None:
    """Out of order, marks that round too much or that nobody can count: key and what is allowed."""
    with pytest.raises(BadInput, match=allowed) as refused:
        read_formulary(exchanged(formulary_path, old, new))
    assert ", key syringes" in str(refused.value)


def test_the_largest_one_gives_the_marks_of_what_none_holds(
    formulary_path: Path, exchanged: Exchanged
) -> None:
    """It is drawn up in several; no single size is named then."""
    small = read_formulary(
        exchanged(
            formulary_path,
            f"  - {{holds: 20 mL, marks: 1 mL}}\n  - {{holds: 30 mL, marks: 1 mL}}\n{LAST}",
            "",
        )
    )
    answer = dose_of(small.drug("ketamine"), Patient(75), syringes=small.syringes)
    assert answer.volume == quantity(Decimal("11.2"), "mL")
    assert answer.syringe_ml is None
    assert "syringe" not in answer.drawn_up()


def test_a_site_that_names_none_has_the_usual_ones(
    formulary_path: Path, exchanged: Exchanged
) -> None:
    """One to sixty millilitres, as the example site states them."""
    whole = read_formulary(formulary_path)
    text = formulary_path.read_text("utf-8")
    stated = text[text.index("syringes:\n") : text.index(LAST) + len(LAST)]
    assert read_formulary(exchanged(formulary_path, stated, "")).syringes == whole.syringes


KETAMINE = """      - id: vial
        strength: 10 mg/mL
        vial: 20 mL
        graduation: 0.2 mL
"""


def _undiluted(marks: str) -> str:
    return KETAMINE.replace("10 mg", "50 mg").replace("20 mL", "10 mL").replace("0.2 mL", marks)


def test_a_strong_drug_is_told_to_the_marks_of_the_syringe_that_holds_it(
    formulary_path: Path, exchanged: Exchanged
) -> None:
    """Ketamine of 50 mg/mL: by hand, 40 kg with a low pressure 30 mg, 0.6 mL of a syringe of 1 mL;
    70 kg 105 mg, 2.1 mL of one of 3 mL."""
    strong = read_formulary(exchanged(formulary_path, KETAMINE, _undiluted("0.01 mL")))
    drug = strong.drug("ketamine")
    low = Patient(41, low_pressure=True, age_years=40)
    assert dose_of(drug, low, syringes=strong.syringes).volume == quantity(Decimal("0.62"), "mL")
    usual = dose_of(drug, Patient(70), syringes=strong.syringes)
    assert (usual.volume, usual.syringe_ml) == (quantity(Decimal("2.1"), "mL"), Decimal(3))


def test_marks_finer_than_a_syringe_has_are_refused(
    formulary_path: Path, exchanged: Exchanged
) -> None:
    """A slip of a decimal point: where the marks of a syringe would do for the smallest dose."""
    with pytest.raises(BadInput, match=r"coarser marks: .* would be 2800 of them"):
        read_formulary(exchanged(formulary_path, KETAMINE, _undiluted("0.001 mL")))


def test_a_dose_that_one_mix_does_not_hold_says_so(
    formulary_path: Path, exchanged: Exchanged
) -> None:
    """Fentanyl made up to 10 mL of 10 mcg/mL: 2 mcg/kg of 90 kg are 18 mL, by hand."""
    ampoule = """      - id: ampoule
        strength: 50 mcg/mL
        vial: 2 mL            # from memory
        graduation: 0.1 mL
"""
    mixed = """      - id: ampoule
        strength: 10 mcg/mL
        graduation: 0.2 mL
        recipe:
          draw_up: 2 mL
          of: 50 mcg/mL
          make_up_to: 10 mL
          with_what: saline
          source: the site's own
          status: local
"""
    formulary = read_formulary(exchanged(formulary_path, ampoule, mixed))
    answer = dose_of(formulary.drug("fentanyl"), Patient(90), syringes=formulary.syringes)
    assert "That takes two mixes." in answer.spoken()
    assert answer.drawn_up() == "2 mixes, syringe of 20 mL"
    light = dose_of(formulary.drug("fentanyl"), Patient(50), syringes=formulary.syringes)
    assert "mixes" not in light.spoken() + light.drawn_up()

    told = "More than one mix: fentanyl before laryngoscopy, usual dose of the heaviest adult"
    assert any(one.startswith(told) for one in remarks(formulary))
