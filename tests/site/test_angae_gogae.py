"""The Korean site: language is data, so that nothing English is left in what it says."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel

from assistant.commands.main import main
from assistant.dosing.doses import dose_of
from assistant.dosing.patient import Patient
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
from assistant.grammar.grammar import spoken_parts
from assistant.oximeter.crossing import CallKind
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site, load_site

SITE = Path(__file__).parents[2] / "configs" / "angae-gogae"
LATIN = re.compile(r"[A-Za-z]")


@pytest.fixture(scope="module")
def site() -> Site:
    return load_site(SITE)


def texts(part: Any, where: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a model with where it stands, placeholders left out."""
    if isinstance(part, BaseModel):
        for name in type(part).model_fields:
            yield from texts(getattr(part, name), f"{where}.{name}")
    elif isinstance(part, tuple):
        for at, one in enumerate(part):
            yield from texts(one, f"{where}.{at}")
    elif isinstance(part, str):
        yield where, re.sub(r"\{\w+\}", "", part)


def test_five_items_of_four_kinds(site: Site) -> None:
    """A small brief, and its own."""
    assert [item.kind for item in site.brief.items()] == [
        "confirm",
        "confirm",
        "choose",
        "number",
        "name",
    ]


@pytest.mark.parametrize("part", ["says", "vital", "pause", "live", "may_be_said", "terms"])
def test_no_phrase_is_left_in_english(site: Site, part: str) -> None:
    """A default that the site forgot would come out in English."""
    left = [one for one in texts(getattr(site.wording, part), part) if LATIN.search(one[1])]
    assert left == []


def test_whatever_is_listened_for_is_korean(site: Site) -> None:
    """Every phrase, name and number of the grammar."""
    grammar = Phrasebook(site).when_asking("anything")
    assert [part for part in spoken_parts(grammar) if LATIN.search(part)] == []


def test_a_dose_is_told_in_korean(site: Site) -> None:
    """1.5 mg/kg for 55 kg are 82.5 mg: 8.25 mL of 10 mg/mL, which a syringe of 0.2 mL makes 8.2."""
    answer = dose_of(site.formulary.drug("ketamine"), Patient(55), tongue=site.wording.tongue)

    assert answer.spoken(site.wording.tongue) == (
        "케타민 유도용, 실제 체중 오십 오 킬로그램, 팔십 이 점 오 밀리그램. 밀리리터당 십 밀리그램 "
        "용액으로 반올림하여 팔 점 이 밀리리터. 일 분에 걸쳐 주십시오. 손에 든 라벨을 확인하십시오."
    )


def test_refusals_and_other_numbers_are_told_in_korean(site: Site) -> None:
    """All that is put together by the program, none of it with a word of its own."""
    tongue, figures = site.wording.tongue, site.figures
    drug = site.formulary.drug("ketamine")
    told = [
        predicted_weight(figures, 170, Sex.FEMALE, tongue).spoken,
        tube(figures, None, tongue).spoken,
        *(
            ventilator_start(figures, height_cm, Sex.MALE, breathing, tongue).spoken
            for height_cm in (None, 170)
            for breathing in Breathing
        ),
        cylinder_minutes(figures, figures.cylinder("bedside"), 100, 15, tongue).spoken,
        *(site.oximeter.words.say(kind, 93) for kind in (CallKind.FELL, CallKind.RECOVERED)),
    ]
    for weight_kg in (None, 12):
        with pytest.raises(NoDose) as refused:
            dose_of(drug, Patient(weight_kg), tongue=tongue)
        told.append(str(refused.value))

    assert [text for text in told if LATIN.search(text)] == []
    assert told[-1] == "케타민 용량 없음. 체중 삼십에서 이백 킬로그램까지의 용량만 압니다."
    assert told[-4] == "산소포화도 구십 삼."


def test_calls_in_another_language_are_refused(tmp_path: Path) -> None:
    """The watcher reads its own file only: its numbers would come out in another language."""
    for file in SITE.iterdir():
        text = file.read_text(encoding="utf-8").replace("  language: ko\n", "  language: en\n")
        (tmp_path / file.name).write_text(text, encoding="utf-8")

    with pytest.raises(BadInput, match=r"oximeter.yaml, line \d+, key words.language: found 'en'"):
        load_site(tmp_path)


def test_the_dose_command_says_what_would_be_spoken(capsys: pytest.CaptureFixture[str]) -> None:
    """In the site's language; what is written for the eye stays as it is everywhere."""
    assert main(["dose", "케타민", "--weight-kg", "55", "--json", "--site", str(SITE)]) == 0
    told = json.loads(capsys.readouterr().out)

    assert told["spoken"].startswith(
        "케타민 유도용, 실제 체중 오십 오 킬로그램, 팔십 이 점 오 밀리그램."
    )
    assert "82.5 mg" in told["written"]
