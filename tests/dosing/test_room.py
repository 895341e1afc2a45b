"""The other numbers of the room, against published rows and by hand."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.dosing.figures import Figures
from assistant.dosing.reading import read_figures
from assistant.dosing.refusal import NoDose
from assistant.dosing.room import (
    Breathing,
    cylinder_minutes,
    predicted_weight,
    tube,
    ventilator_start,
)
from assistant.dosing.weights import Sex
from assistant.errors import BadInput
from tests.dosing.conftest import Exchanged

PATH = Path(__file__).parents[2] / "configs" / "tarn-hollow" / "figures.yaml"
M, F = Sex.MALE, Sex.FEMALE


@pytest.fixture(scope="module")
def figures() -> Figures:
    """Those of the demonstration site."""
    return read_figures(PATH)


@pytest.mark.parametrize(
    ("height_cm", "sex", "weight_kg", "tidal_ml"),
    [
        (173, M, "68.7", "412"),  # published worked example: 412.476 mL at 6 mL/kg
        (205, M, "97.9", "587"),  # published worked example: 587.196 mL
        (180, M, "75.1", "451"),  # 450.7
        (165, F, "57", "342"),  # 341.8
    ],
)
def test_tidal_volume(
    *, figures: Figures, height_cm: int, sex: Sex, weight_kg: str, tidal_ml: str
) -> None:
    """6 mL/kg of predicted weight (ARDS Network, N Engl J Med 2000;342:1301-8)."""
    told = predicted_weight(figures, height_cm, sex)
    assert told.written == (
        f"Predicted body weight {weight_kg} kg. Tidal volume {tidal_ml} mL: 6 mL/kg."
    )


@pytest.mark.parametrize(
    ("known", "missing"),
    [((None, None), "the height and the sex"), ((170, None), "the sex"), ((None, F), "the height")],
)
def test_what_is_missing_is_named(figures: Figures, known: Any, missing: str) -> None:
    """No tidal volume is guessed."""
    with pytest.raises(NoDose, match=f"^I do not know {missing}: tell me"):
        predicted_weight(figures, *known)


def test_the_ventilator_breathes_faster_for_acidosis(figures: Figures) -> None:
    """The rate of the acidotic patient is another one, at most 35 (NHLBI card)."""
    usual = ventilator_start(figures, 173, M)
    acidotic = ventilator_start(figures, 173, M, Breathing.ACIDOTIC)
    assert "eighteen breaths a minute" in usual.spoken
    assert "thirty breaths a minute" in acidotic.spoken
    assert "30/min" in acidotic.written
    assert usual.spoken.endswith("tidal volume four hundred and twelve millilitres.")


def test_the_ventilator_gives_trapped_air_time_to_get_out(figures: Figures) -> None:
    """Ten breaths a minute, volume and peep as usual (Singapore Med J 2022;63:535-541, table 3)."""
    told = ventilator_start(figures, 173, M, Breathing.OBSTRUCTED)
    assert told.spoken == (
        "Ventilator for trapped air, with a long time to breathe out: ten breaths a minute, one "
        "hundred percent oxygen, peep five, plateau at most thirty, tidal volume four hundred and "
        "twelve millilitres."
    )
    assert "10/min" in told.written


@pytest.mark.parametrize("breathing", Breathing)
def test_every_setting_has_its_highest_plateau(figures: Figures, breathing: Breathing) -> None:
    """30 cmH2O (NHLBI card of the ARDS Network), said, written and sourced."""
    told = ventilator_start(figures, None, None, breathing)
    assert "plateau at most thirty, " in told.spoken
    assert "plateau at most 30 cmH2O" in told.written
    assert "at most 30; some keep below 25 in asthma (read)" in told.source


def test_a_ventilator_without_a_height_says_so(figures: Figures) -> None:
    """The rest is told, the volume only per kilogram."""
    told = ventilator_start(figures, None, M)
    assert "six millilitres for each kilogram of predicted body weight" in told.spoken
    assert told.spoken.endswith("I do not know the height: tell me.")


def test_tubes(figures: Figures) -> None:
    """21 cm in women, 23 cm in men (BMJ Open 2018;8:e023374); both when the sex is not known."""
    assert tube(figures, F).spoken == (
        "Tube for women: size seven, twenty-one centimetres at the teeth."
    )
    assert "size eight, twenty-three centimetres" in tube(figures, M).spoken
    assert "women" in tube(figures, None).spoken
    assert "For men" in tube(figures, None).spoken


# E cylinder, factor 0.28 L/psi, residual 200 psi (teaching pages of respiratory care):
# (psi - 200) x 0.28 / flow. 2200 psi = 152 bar, 1450 psi = 100 bar.
@pytest.mark.parametrize(
    ("bar", "litres", "minutes"), [(152, 15, 37), (100, 15, 23), (152, 10, 56)]
)
def test_cylinder_minutes(figures: Figures, bar: int, litres: int, minutes: int) -> None:
    """Within a minute of the published factor's answer, and never above it."""
    told = cylinder_minutes(figures, figures.cylinder("transport"), bar, litres)
    assert f"about {minutes} min," in told.written
    psi = Decimal(bar) * Decimal("14.504")
    by_factor = (psi - 200) * Decimal("0.28") / litres
    assert minutes <= by_factor + Decimal("0.5") < minutes + 2


def test_an_empty_cylinder_lasts_no_time(figures: Figures) -> None:
    """At the reserve and below nothing is left to count."""
    told = cylinder_minutes(figures, figures.cylinder("transport"), 10, 15)
    assert "about zero minutes" in told.spoken


def test_a_pressure_it_cannot_have_is_refused(figures: Figures) -> None:
    """A misheard pressure is not turned into minutes."""
    with pytest.raises(NoDose, match="holds at most one hundred and fifty-two bar"):
        cylinder_minutes(figures, figures.cylinder("transport"), 200, 15)


@given(st.integers(14, 152), st.integers(1, 60))
def test_more_pressure_never_lasts_shorter(bar: int, litres: int) -> None:
    """Monotonic in pressure, and what is told is never more than there is."""
    figures = read_figures(PATH)
    kind = figures.cylinder("transport")
    told = cylinder_minutes(figures, kind, bar, litres).written
    minutes = int(told.split("about ")[1].split(" min")[0])
    assert minutes * litres <= (bar - 14) * kind.water.amount < (minutes + 1) * litres


@pytest.mark.parametrize(
    ("old", "new", "allowed"),
    [
        ("set_to: 6 ", "set_to: 60 ", "4 to 8 mL/kg predicted weight as published in ARDS Network"),
        ("set_to: 30 ", "set_to: 300 ", "24 to 35 /min as published"),
        ("set_to: 23 ", "set_to: 2.3 ", "22 to 23 cm as published"),
        ("set_to: 7 ", "set_to: 70 ", "7 to 7.5 mm as published"),
        ("set_to: 6 mL/kg predicted", "set_to: 6 mL/kg total", "the unit mL/kg predicted weight"),
        ("set_to: 10 /min", "set_to: 18 /min", "6 to 14 /min as published in Singapore Med J"),
        ("set_to: 30 cmH2O", "set_to: 40 cmH2O", "25 to 30 cmH2O as published in NHLBI card"),
        ("set_to: 100 %", "set_to: 100 mm", "the unit %, as the published range beside it"),
        ("water: 4.06 L", "water: 40.6 L", "holds: found .620 L.; .*40.6 L x 152 bar = 6171.2 L"),
        (
            "reserve: 14 bar",
            "reserve: 140 bar",
            "reserve: found .140 bar.; .*: a fiftieth",
        ),
        ("4 to 8 mL", "4 to 80 mL", "in the program.s reference .ARDS Network"),
    ],
)
def test_a_figure_outside_its_published_range(
    exchanged: Exchanged, old: str, new: str, allowed: str
) -> None:
    """A lost decimal point is refused, with what is allowed."""
    with pytest.raises(BadInput, match=allowed):
        read_figures(exchanged(PATH, old, new))
