"""The drug card: the same doses as the spoken ones, on a plain page for one patient."""

import json
import re
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from assistant.commands.main import main
from assistant.dosing.card import card
from assistant.dosing.doses import dose_of
from assistant.dosing.formulary import Formulary
from assistant.dosing.patient import Patient
from assistant.dosing.refusal import NoDose
from assistant.dosing.stated import figure
from assistant.dosing.units import written
from assistant.dosing.weights import Sex


class Cells(HTMLParser):
    """The rows of the page's table."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A row or a cell begins."""
        if tag == "tr":
            self.rows.append([])
        self._inside = tag in ("td", "th")
        if self._inside:
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        """A cell ends."""
        self._inside = self._inside and tag not in ("td", "th")

    def handle_data(self, data: str) -> None:
        """Text of a cell."""
        if self._inside:
            self.rows[-1][-1] += data


def rows(page: str) -> list[list[str]]:
    """Without the head."""
    cells = Cells()
    cells.feed(page)
    return cells.rows[1:]


def test_every_use_of_every_drug_has_its_spoken_dose(formulary: Formulary) -> None:
    """Dose, volume and strength are those that would be spoken."""
    found = rows(card(formulary, Patient(70)))
    uses = [(drug, use) for drug in formulary.drugs for use in drug.indications]
    assert len(found) == len(uses)
    for row, (drug, use) in zip(found, uses, strict=True):
        answer = dose_of(drug, Patient(70), adults=formulary.adults, indication=use.id)
        assert row[:3] == [drug.called, use.purpose, written(answer.dose)]
        assert row[3].startswith(written(answer.volume))
        drawn_up = f" ({answer.drawn_up()})" if answer.drawn_up() else ""
        assert row[3].endswith(f"of {written(answer.strength)}{drawn_up}")


def test_the_low_pressure_dose_stands_beside_it(formulary: Formulary) -> None:
    """Its own column, with the refusal where there is none for such a patient."""
    found = {(row[0], row[1]): row for row in rows(card(formulary, Patient(80)))}
    assert (
        found["ketamine", "for induction"][4]
        == "60 mg = 6 mL of 10 mg/mL (1 vial, syringe of 10 mL)"
    )
    assert found["rocuronium", "for paralysis"][4] == "as usual"
    assert "lowers the pressure" in found["esmolol", "before laryngoscopy"][4]


def test_what_to_mind_stands_in_the_row(formulary: Formulary) -> None:
    """What to ask first, the maximum, the recipe and the cautions."""
    found = {(row[0], row[1]): row[5] for row in rows(card(formulary, Patient(80)))}
    assert (
        "First: Are malignant hyperthermia, high potassium"
        in found["succinylcholine", "for paralysis"]
    )
    assert "At most 225 mg at once." in found["succinylcholine", "for paralysis"]
    mixed = found["epinephrine", "for low blood pressure"]
    assert "Add nine millilitres of saline: ten millilitres in all." in mixed


def test_the_dose_of_the_old_stands_in_the_row(formulary: Formulary) -> None:
    """Named so when the age is known; and always from which age on there is one."""
    for age_years, dose in ((None, "120 mg"), (80, "80 mg (reduced for age)")):
        patient = Patient(80, age_years=age_years, height_cm=180, sex=Sex.MALE)
        found = {(row[0], row[1]): row for row in rows(card(formulary, patient))}
        assert found["propofol", "for induction"][2] == dose
        assert (
            "From 55 years on, and for the frail, usually 1 mg/kg"
            in found["propofol", "for induction"][5]
        )


def test_the_page_names_its_patient_and_its_caution(formulary: Formulary) -> None:
    """One patient, no colours, nothing loaded from elsewhere."""
    page = unescape(card(formulary, Patient(70)))
    assert "Weight 70 kg" in page
    assert "the licensed clinician decide" in page
    assert set(re.findall(r"#[0-9a-f]{3,6}", page)) == {"#000", "#fff"}
    assert not re.search(r"https?://|src=|url\(", page)


def test_no_card_for_a_child(formulary: Formulary) -> None:
    """Outside the adult range there is no page at all."""
    with pytest.raises(NoDose, match="from thirty to two hundred kilograms"):
        card(formulary, Patient(12))


def test_a_drug_without_a_dose_keeps_its_row(formulary: Formulary) -> None:
    """With the reason in place of a dose, and the other drugs unharmed."""
    drug = formulary.drugs[0]
    dose = drug.indications[0].dose.model_copy(update={"usual": figure("1.5 mg/kg lean weight")})
    use = drug.indications[0].model_copy(update={"dose": dose})
    lean = drug.model_copy(update={"indications": (use,)})
    changed = formulary.model_copy(update={"drugs": (lean, *formulary.drugs[1:])})
    found = rows(card(changed, Patient(90, height_cm=170)))
    assert "I do not know the sex" in found[0][2]
    assert found[1:] == rows(card(formulary, Patient(90, height_cm=170)))[1:]


def test_the_command_writes_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Into a file when one is named, otherwise to standard output."""
    path = tmp_path / "card.html"
    assert main(["card", "--weight-kg", "70", "--out", str(path)]) == 0
    capsys.readouterr()
    assert main(["card", "--weight-kg", "70"]) == 0
    assert capsys.readouterr().out == path.read_text(encoding="utf-8")
    assert main(["card", "--weight-kg", "70", "--out", str(tmp_path / "no" / "card.html")]) == 2


def test_the_dose_command_gives_the_spoken_answer(
    capsys: pytest.CaptureFixture[str], formulary: Formulary
) -> None:
    """As text and as JSON: the same dose, its working, its source and what to ask first."""
    arguments = ["dose", "suxamethonium", "--weight-kg", "70"]
    assert main([*arguments, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    answer = dose_of(formulary.drug("succinylcholine"), Patient(70))
    assert told["spoken"] == answer.spoken()
    assert (told["dose"], told["dose_unit"], told["volume"]) == ("105", "mg", "5.2")
    assert told["ask_before"][0].startswith("Are malignant hyperthermia")

    assert main(arguments) == 0
    text = capsys.readouterr().out
    assert answer.written() in text
    assert "Working: 1.5 mg/kg x 70 kg = 105 mg" in text
    assert "Source: US prescribing information" in text


def test_the_dose_command_knows_low_pressure_and_infusions(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """By the names that people say."""
    assert main(["dose", "ketamine", "--weight-kg", "80", "--low-pressure"]) == 0
    assert "low pressure dose, 80 kg total weight: 60 mg = 6 mL" in capsys.readouterr().out
    assert main(["dose", "etomidate", "--weight-kg", "80", "--age-years", "80"]) == 0
    assert "reduced for age, 80 kg total weight: 16 mg = 8 mL" in capsys.readouterr().out
    assert main(["dose", "adrenaline infusion", "--weight-kg", "70", "--low-pressure"]) == 0
    assert "no separate dose for low pressure" in capsys.readouterr().out


def test_no_name_breaks_out_of_its_cell_on_paper(
    formulary: Formulary, browser: Any, tmp_path: Path
) -> None:
    """On A4 between the margins, as it is printed: a long name stays whole, and in its column."""
    path = tmp_path / "card.html"
    path.write_text(card(formulary, Patient(80, 175, Sex.MALE)), "utf-8")
    width_px = round((210 - 2 * 10) / 25.4 * 96)
    size = {"width": width_px, "height": 1000, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    browser.get(path.as_uri())
    outside = (
        "return [...document.querySelectorAll('td')]"
        ".filter((one) => one.scrollWidth > one.clientWidth).map((one) => one.textContent)"
    )
    broken = (
        "document.body.style.overflowWrap = 'normal';"
        "document.querySelectorAll('td').forEach((one) => { one.style.overflowWrap = 'normal'; });"
        + outside
    )
    try:
        assert browser.execute_script(outside) == []
        assert browser.execute_script(broken) == []
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
