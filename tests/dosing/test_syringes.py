"""The syringes that a site has: which lists are refused, and what comes of a shorter one."""

from decimal import Decimal
from pathlib import Path

import pytest

from assistant.dosing.doses import dose_of
from assistant.dosing.formulary import Formulary
from assistant.dosing.patient import Patient
from assistant.dosing.reading import read_formulary
from assistant.dosing.units import quantity
from assistant.errors import BadInput

LAST = "  - {holds: 60 mL, marks: 1 mL}\n"


def _read(path: Path, tmp_path: Path, old: str, new: str) -> Formulary:
    text = path.read_text("utf-8")
    assert old in text
    changed = tmp_path / "formulary.yaml"
    changed.write_text(text.replace(old, new), "utf-8")
    return read_formulary(changed)


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
    *, formulary_path: Path, tmp_path: Path, old: str, new: str, allowed: str
) -> None:
    """Out of order, marks that round too much or that nobody can count: key and what is allowed."""
    with pytest.raises(BadInput, match=allowed) as refused:
        _read(formulary_path, tmp_path, old, new)
    assert ", key syringes" in str(refused.value)


def test_the_largest_one_gives_the_marks_of_what_none_holds(
    formulary_path: Path, tmp_path: Path
) -> None:
    """It is drawn up in several; no single size is named then."""
    small = _read(
        formulary_path,
        tmp_path,
        f"  - {{holds: 20 mL, marks: 1 mL}}\n  - {{holds: 30 mL, marks: 1 mL}}\n{LAST}",
        "",
    )
    answer = dose_of(small.drug("ketamine"), Patient(75), syringes=small.syringes)
    assert answer.volume == quantity(Decimal("11.2"), "mL")
    assert answer.syringe_ml is None
    assert "syringe" not in answer.drawn_up()


def test_a_site_that_names_none_has_the_usual_ones(formulary_path: Path, tmp_path: Path) -> None:
    """One to sixty millilitres, as the example site states them."""
    whole = read_formulary(formulary_path)
    text = formulary_path.read_text("utf-8")
    stated = text[text.index("syringes:\n") : text.index(LAST) + len(LAST)]
    assert _read(formulary_path, tmp_path, stated, "").syringes == whole.syringes
