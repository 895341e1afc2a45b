"""What of a brief fits its form and cannot be: refused by `load_site`, or told by `check`."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.brief.brief import Brief
from assistant.dosing.formulary import Formulary
from assistant.dosing.reading import read_formulary
from assistant.files.plain_yaml import read_plain_yaml
from assistant.site.brief_remarks import remarks
from tests.site.slips import Site, Slip, item, said, text

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


def plan(**values: object) -> Slip:
    """Another setting of the plan for failed attempts."""
    return f"attempts: {values}", lambda site: site["brief"]["attempts"].update(values)


def step(at: int, then: str) -> Slip:
    """Another phase after that failed attempt."""
    return (
        f"step {at} leads to {then}",
        lambda site: site["brief"]["attempts"]["after_failure"][at].update(then=then),
    )


def without(name: str) -> Slip:
    """An item less."""

    def change(site: Site) -> None:
        for section in site["brief"]["sections"]:
            section["items"] = [one for one in section["items"] if one["id"] != name]
        for choice in site["brief"]["briefs"]:
            choice["only"] = [one for one in choice.get("only", []) if one != name]

    return f"without {name}", change


def no_phase(name: str) -> Slip:
    """Nothing is asked in it, and no answer leads there."""

    def change(site: Site) -> None:
        sections = site["brief"]["sections"]
        for one in (one for section in sections for one in section["items"]):
            for option in one.get("options", []):
                option.pop("leads", None)
        site["brief"]["sections"] = [one for one in sections if one["phase"] != name]
        site["brief"]["handover"] = []

    return f"no {name}", change


def unit(name: str, one: str, many: str) -> Slip:
    """Other words for a unit."""
    words = {"one": one, "many": many}
    return (
        f"{name}: {one}, {many}",
        lambda site: site["wording"].setdefault("terms", {}).update(units={name: words}),
    )


def says(key: str, words: str) -> Slip:
    """Another sentence."""
    return f"{key}: {words}", lambda site: site["wording"]["says"].update({key: words})


def _of_saturation(wanted: int, call: str) -> Slip:
    """The saturation wanted before the drugs, and how it is asked."""
    values = {"wanted_low": wanted, "call": call, "ask": f"{call} I call at {{threshold}}."}
    return f"saturation {values}", lambda site: item(site, "saturation").update(values)


def _set_twice(site: Site) -> None:
    item(site, "pulse").update(sets="pressure_mmhg", unit="systolic", unit_said=["systolic"])
    del item(site, "pulse")["when"]
    item(site, "pressor")["when"] = "brief is planned"
    item(site, "pressure-held")["when"] = "low_pressure"


def _swap(options: list[Site]) -> None:
    options[0]["said"], options[1]["said"] = options[1]["said"], options[0]["said"]


REFUSED: tuple[tuple[Slip, str], ...] = (
    (text("weight", "unit", "pounds"), "weight_kg"),
    (text("weight", "unit_said", ["pounds in weight"]), "unit_said.0: found 'pounds in weight'"),
    (text("weight", "sets", "height_cm"), "as it sets height_cm"),
    (text("age", "sets", "weight_kg"), "as it sets weight_kg"),
    (text("patient-height", "unit", "inches"), "as it sets height_cm"),
    (text("pressure", "unit", "kilopascals"), "as it sets pressure_mmhg"),
    (("the pressure twice", _set_twice), "as pressure sets that one"),
    (text("pressure", "low_pressure_below", 10), "low_pressure_below: found 10"),
    (text("pressure", "low_pressure_below", 300), "low_pressure_below: found 300"),
    (said("weight", "the weight is {kilograms} pounds"), "the unit of {kilograms}"),
    (said("weight_pounds", "{pounds} kilos"), "the unit of {pounds}"),
    (said("height", "the height is {centimetres} inches"), "the unit of {centimetres}"),
    (said("height", "he's {centimetres}"), "which figure {centimetres} is"),
    (said("weight", "he's {kilograms}"), "which figure {kilograms} is"),
    (said("age", "he's {years}"), "such as its unit; those that do not belong to number, where"),
    (said("pulse_back", "the pulse stopped"), "'stopped' in it"),
    (said("weight_pounds", "the patient's {pounds}"), "which figure {pounds} is"),
    (said("weight_pounds", "{pounds} stone"), "the unit of {pounds}"),
    (said("age", "the age is {years} months"), "the unit of {years}"),
    (said("number", "{number}", "{number} pounds"), "may_be_said.number.1: found '{number} pounds"),
    (unit("kilogram", "pound", "pounds"), "terms.units.kilogram.one: found 'pound'"),
    (unit("kilogram", "kilogram", "us pounds"), "terms.units.kilogram.many: found 'us pounds'"),
    (unit("kilogram", "stone", "stone"), "these stand for the stone"),
    (unit("milligram", "microgram", "micrograms"), "these stand for the microgram"),
    (unit("milligram", "gram", "grams"), "these stand for the gram"),
    (unit("milligram", "millilitre", "millilitres"), "these stand for the millilitre"),
    (unit("millilitre", "litre", "litres"), "these stand for the litre"),
    (text("weight", "ask", "What does the patient weigh, in pounds?"), "these name the pound"),
    (text("tube-depth", "call", "How deep, in inches?"), "these name the inch"),
    (text("tube-depth", "unit_said", ["inches"]), "unit_said.0: found 'inches'"),
    (says("dose_read_back", "{drug}, for {number}: {digits}, pounds?"), "these name the pound"),
    (says("pounds", "{digits} kilos."), "these name the kilogram"),
    (_of_saturation(95, "Saturation above ninety-three?"), "'Saturation above ninety-three"),
    (said("pressure", "pressure {lower} over {systolic}"), "{systolic} once and perhaps {lower}"),
    (said("blood_pressure", "{lower} under {number}"), "{lower} after it"),
    (said("female", "he's a man"), "words for female"),
    (said("male", "the patient is a woman"), "words for male"),
    (
        ("the sexes", lambda site: _swap(item(site, "patient-sex")["options"])),
        "options.0.said.0: found 'a man'; allowed: words for female",
    ),
    (said("tube_in", "the tube came out", "it's in the gullet"), "words that say that it is in"),
    (plan(neck_taken_by="suction"), "answered by a name"),
    (plan(oxygen_back="saturation"), "of the phase between"),
    (
        ("no such clock", lambda site: site["brief"]["timed_calls"][1].update(clock="atempt")),
        "timed_calls.1.clock: found 'atempt'; allowed: one of: attempt",
    ),
    (text("pressor", "when", "shock_index from 13"), "a number from 0.0769 to 12.5"),
)
LEGITIMATE: tuple[Slip, ...] = (
    unit("kilogram", "kilo", "kilos"),
    unit("millilitre", "cubic centimetre", "cubic centimetres"),
    unit("litre", "liter", "liters"),
    text("weight", "ask", "What does the patient weigh in kilograms? I take pounds as well."),
    text("tube-depth", "ask", "How deep is the tube at the teeth?"),
    _of_saturation(94, "Saturation above ninety-four?"),
    said("number", "{number}", "{number} {unit}", "it's {number} kilos"),
    said("height", "the patient is {centimetres} tall"),
    said("age", "aged {years}", "{years} year old"),
    text("weight", "unit_said", ["kilos", "kilogrammes", "kg"]),
    text("patient-height", "unit_said", ["centimeters", "centimetres tall"]),
    text("pressure", "unit", "millimetres of mercury"),
    text("pressure", "low_pressure_below", 60),
    said("male", "the patient is a man and not a woman"),
    said("tube_in", "stylet out tube in", "tube's in"),
    said("pressure", "the systolic is {systolic}"),
    said("weight", "weight {kilograms}", "{kilograms} kilograms in weight"),
    said("weight", "the scales say {kilograms}", "bodyweight {kilograms}"),
    said("number", "{number}", "he's {number}"),
    text("tube-depth", "ask", "How deep is it, with the cuff two inches past the cords?"),
    said("pulse_back", "stopped compressions we have a pulse", "compressions stopped pulse back"),
    step(2, "front-of-neck"),
    plan(at_most=5),
    plan(after_failure=["Bag now."]),
    text("weight", "sets", None),
    ("an item's clock", lambda site: site["brief"]["timed_calls"][1].update(clock="oxygen on")),
    text("pressor", "when", "shock_index from 1.3"),
)


@pytest.mark.parametrize(("slip", "sentence"), REFUSED, ids=lambda one: str(one[0]))
def test_what_cannot_be_is_refused(
    written: Callable[[Slip], str], slip: Slip, sentence: str
) -> None:
    """A unit, a plan, a clock or a number that nothing else in the site bears out."""
    assert sentence in written(slip)


@pytest.mark.parametrize("slip", LEGITIMATE, ids=lambda one: str(one[0]))
def test_what_a_site_may_mean_is_allowed(written: Callable[[Slip], str], slip: Slip) -> None:
    """Other words for a unit, another end of the plan, another limit."""
    assert written(slip) == ""


@pytest.fixture(scope="module")
def formulary() -> Formulary:
    """The example site's."""
    return read_formulary(SITE / "formulary.yaml")


@pytest.mark.parametrize(
    ("slip", "sentence"),
    [
        (text("pressure", "low_pressure_below", None), "No number counts as a low pressure"),
        (text("pressure", "low_pressure_below", 60), "Unusual for a low pressure: pressure, below"),
        (text("pressor", "when", ["shock_index from 0.09"]), "shock_index from 0.09"),
        (plan(at_most=2), "After failed attempt 2, the last one agreed on, another one is next"),
        (step(2, "between"), "After failed attempt 3, the last one agreed on"),
        (plan(at_most=4), "After failed attempt 4 of 4, as after 3: 'Three attempts have failed"),
        (text("weight", "sets", None), "No item asks for the weight"),
        (without("sustained-carbon-dioxide"), "wave in the phase after"),
        (without("supraglottic-who"), "in the phase supraglottic, to which the plan leads"),
        (no_phase("front-of-neck"), "front-of-neck, to which a word leads at any time"),
        (no_phase("neck-open"), "wave in the phase neck-open"),
        (
            ("usual brief", lambda site: site["brief"]["briefs"][0]["only"].remove("weight")),
            "Asks for no weight, by which doses go: the usual brief",
        ),
    ],
    ids=lambda one: str(one[0]),
)
def test_what_a_site_may_mean_is_told(formulary: Formulary, slip: Slip, sentence: str) -> None:
    """By `check`, for a second person to look at; of the site as it is, nothing."""
    site: dict[str, Any] = {"brief": read_plain_yaml(SITE / "brief.yaml").content}
    assert list(remarks(_brief(site), formulary)) == []
    slip[1](site)
    for section in site["brief"]["sections"][:]:
        if not section["items"]:
            site["brief"]["sections"].remove(section)
    (only,) = remarks(_brief(site), formulary)
    assert sentence in only


def _brief(site: Site) -> Brief:
    return Brief.model_validate_json(json.dumps(site["brief"]))
