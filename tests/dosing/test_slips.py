"""Slips in a site's figures: refused, or pointed out by `check`, or known to be let through.

`tests/bench/figures.py` makes them, all single slips that it can think of.
"""

from pathlib import Path
from typing import Any

import pytest
import yaml

from assistant.dosing.reading import read_formulary
from tests.bench.figures import Slip, Told, outcome, slips, told

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
LET_THROUGH = {
    # Another thing that is right too: docs/dosing.md says why.
    "glycopyrrolate/vial/graduation",
    "fentanyl/pump/pump_step",
    "dexmedetomidine/pump/pump_step",
    "fentanyl/pump",
    "hydromorphone/supplied/strengths/1",
    "sugammadex/immediate-reversal/acts/lasts",
    # How fast it is given, which sites do differently.
    "ketamine/induction",
    "etomidate/induction",
    "midazolam/induction",
    "vecuronium/paralysis",
    "sugammadex/immediate-reversal",
}


def content(name: str) -> Any:
    """One file of the site, as YAML."""
    return yaml.safe_load((SITE / name).read_text(encoding="utf-8"))


FORMULARY, FIGURES = content("formulary.yaml"), content("figures.yaml")
IDS = [drug["id"] for drug in FORMULARY["drugs"]]


@pytest.fixture(scope="module")
def all_slips() -> list[Slip]:
    """Every slip of the site."""
    return list(slips(FORMULARY, FIGURES))


@pytest.fixture(scope="module")
def before() -> dict[str | None, Told]:
    """What is said of each drug, and of all, without a slip."""
    return {drug: told(FORMULARY, FIGURES, drug) for drug in (None, *IDS)}


def test_nearly_every_slip_is_noticed(
    all_slips: list[Slip], before: dict[str | None, Told]
) -> None:
    """At least 98 of a hundred, and none is silent that is not known to be.

    Of every fourth, for time's sake; the bench has them all.
    """
    assert len(all_slips) > 1500
    some = all_slips[::4]
    silent = [one for one in some if outcome(one, before[one.drug]) == "silent"]
    assert len(silent) <= 0.02 * len(some)
    assert {one.where.split(":")[0] for one in silent} <= LET_THROUGH


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        # Push-dose epinephrine in milligrams, in every figure of the use: found by the reference.
        ("unit throughout", "epinephrine/low-pressure: mg", "the unit mcg, 5 to 20 mcg"),
        ("time throughout", "midazolam/sedation: time", "0.02 to 0.1 mg/kg/h total weight"),
        ("lower age limit 1", "adults", "from 16 to 21 years"),
        ("removed", "ketamine/induction: when_pressure_is_low", "a dose for a low pressure"),
        ("removed", "esmolol/heart-rate: never_when_pressure_is_low", "with the reason"),
        ("removed", "succinylcholine/paralysis: ask_before", "at least 1"),
    ],
)
def test_the_reference_says_what_it_has_found(
    *, all_slips: list[Slip], old: str, new: str, complaint: str
) -> None:
    """A slip in all figures of a use at once, or a line lost, is refused by the reference."""
    slip = next(one for one in all_slips if (one.kind, one.where) == (old, new))
    refused = told(slip.formulary, slip.figures, slip.drug).refused
    assert any(complaint in one for one in refused), refused


def test_the_site_itself_is_borne_out() -> None:
    """Nothing of the demonstration lies outside the reference."""
    assert read_formulary(SITE / "formulary.yaml").confirmed == ()
