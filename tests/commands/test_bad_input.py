"""Whatever a person gets wrong is one sentence, exit 2, and nothing is half begun."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

pytestmark = pytest.mark.usefixtures("good_site_once")
ROOT = Path(__file__).parents[2]
CONFIGS = ROOT / "configs"
REHEARSALS, SCENARIOS = CONFIGS / "rehearsals", CONFIGS / "scenarios"
SCENARIO = """
name: "Small"
seed: 1
people:
  operator: {voice: {engine: espeak, name: en-us}}
patient: {weight_kg: 70, height_cm: 170, start_spo2_percent: 97}
replies:
  - {on: opened, by: operator, say: "end the case"}
  - {on: closing, by: operator, say: "yes confirmed"}
expected:
  calls: 0
"""

BAD_SITE = {
    # what is spoilt: file, text, what stands there instead, the line named, key, found, allowed
    "broken YAML": (
        "brief.yaml",
        'name: "Tarn Hollow airway brief"',
        'name: "Tarn Hollow airway brief',
        None,
        None,
        "a line that is no key",
        "quotes that are closed",
    ),
    "an unknown key": (
        "brief.yaml",
        "        lasts_s: 180",
        "        lasts_minutes: 3\n        lasts_s: 180",
        "lasts_minutes",
        "sections.0.items.0.lasts_minutes",
        "an unknown key",
        "docs/site-files.md",
    ),
    "an unknown kind of item": (
        "brief.yaml",
        "        kind: timed",
        "        kind: tmied",
        "kind: tmied",
        "sections.0.items.0.kind",
        "'tmied'",
        "'timed'",
    ),
    "an item twice": (
        "brief.yaml",
        "      - id: nasal-oxygen",
        "      - id: oxygen-on",
        None,
        "sections.0.items.1.id",
        "'oxygen-on'",
        "each id of an item",
    ),
    "a low that is not below its high": (
        "brief.yaml",
        "        low: 30\n        high: 200",
        "        low: 200\n        high: 30",
        "        low: 200",
        "sections.1.items.0.low",
        "200",
        "a low below its high, 30",
    ),
    "an answer that nobody can say": (
        "brief.yaml",
        'confirmations: ["we saw the mask held on", "we saw the oxygen flowing"]',
        'confirmations: ["we started nasal O2!"]',
        "nasal O2",
        "sections.0.items.0.confirmations.0",
        "'we started nasal O2!'",
        "words without digits",
    ),
    "a key twice": (
        "wording.yaml",
        '  tube_in: "Tube in. Clock stopped."',
        '  tube_in: "Tube in. Clock stopped."\n  tube_in: "Tube is in."',
        "Tube is in.",
        "tube_in",
        "the same key twice",
        "each key once",
    ),
    "a phrase missing": (
        "wording.yaml",
        '  tube_in: "Tube in. Clock stopped."\n',
        "",
        "says:",
        "says.tube_in",
        "nothing",
        "a value for this key",
    ),
    "an unknown placeholder": (
        "wording.yaml",
        'waiting: "Waiting for {item}."',
        'waiting: "Waiting for {thing}."',
        "{thing}",
        "says.waiting",
        "'Waiting for {thing}.'",
        "only these placeholders: {item}",
    ),
    "a placeholder that looks inside": (
        "wording.yaml",
        'waiting: "Waiting for {item}."',
        'waiting: "Waiting for {item.__class__}."',
        "__class__",
        "says.waiting",
        "__class__",
        "only these placeholders: {item}",
    ),
    "a dose question with an unknown placeholder": (
        "wording.yaml",
        '    - "dose of {drug}"\n',
        '    - "dose of {medicine}"\n',
        "{medicine}",
        "may_be_said.dose.",
        "'dose of {medicine}'",
        "{drug} once",
    ),
    "answers of no words": (
        "wording.yaml",
        'new_case: ["open a new case", "start a new case"]',
        "new_case: []",
        "new_case: []",
        "may_be_said.new_case",
        "[]",
        "at least one",
    ),
    "a wrong type": (
        "wording.yaml",
        "ask_at_most: 3",
        'ask_at_most: "three"',
        "three",
        "timing.ask_at_most",
        "'three'",
        "a whole number",
    ),
    "a figure out of range": (
        "wording.yaml",
        "words_per_minute: 165",
        "words_per_minute: 1650",
        "1650",
        "voice.words_per_minute",
        "1650",
        "at most 300",
    ),
    "a drug without its usual dose": (
        "formulary.yaml",
        "          low: 1 mg/kg total weight\n          usual: 1.2 mg/kg total weight\n",
        "          low: 1 mg/kg total weight\n",
        None,
        "drugs.6.indications.0.dose",
        "nothing",
        "a value for this key",
    ),
    "a drug without its strength": (
        "formulary.yaml",
        "        strength: 10 mg/mL\n",
        "",
        None,
        "drugs.0.preparations.0.strength",
        "nothing",
        "a value for this key",
    ),
    "a drug twice": (
        "formulary.yaml",
        "  - id: etomidate",
        "  - id: ketamine",
        None,
        "drugs.1.id",
        "'ketamine'",
        "each drug's id once",
    ),
    "a threshold that is none": (
        "oximeter.yaml",
        "threshold_percent: 93",
        "threshold_percent: low",
        "threshold_percent: low",
        "crossing.threshold_percent",
        "'low'",
        "a whole number",
    ),
    "an oximeter that nobody has described": (
        "oximeter.yaml",
        "\nlayout: five-byte",
        "\nlayout: six-byte",
        "layout: six-byte",
        "layout",
        "'six-byte'",
        "one of layouts: five-byte",
    ),
}
BAD_SCENARIO = {
    "an unknown item": (
        "{on: opened, by",
        "{on: ask, item: oxygen-off, by",
        "oxygen-off",
        "replies.0.item",
        "'oxygen-off'",
        "an item of the site's brief",
    ),
    "an unknown expected item": (
        "  calls: 0",
        "  calls: 0\n  outstanding: [oxygen-off]",
        "oxygen-off",
        "expected.outstanding.0",
        "'oxygen-off'",
        "an item of the site's brief",
    ),
    "an unknown person": (
        "{on: closing, by: operator,",
        "{on: closing, by: stranger,",
        None,
        None,
        "",
        "'stranger' is not among them",
    ),
    "a reply in digits": (
        "end the case",
        "end case 2",
        "end case 2",
        "replies.0.say",
        "'end case 2'",
        "words without digits",
    ),
    "an unknown engine of a voice": (
        "engine: espeak",
        "engine: esqueak",
        "esqueak",
        "people.operator.voice.engine",
        "'esqueak'",
        "'espeak' or 'natural'",
    ),
    "nothing expected": (
        "expected:\n  calls: 0\n",
        "",
        None,
        "expected",
        "nothing",
        "a value for this key",
    ),
}


def spoil(path: Path, text: str, instead: str) -> None:
    """Put something else into a file."""
    whole = path.read_text(encoding="utf-8")
    assert text in whole, f"{path.name} has no {text!r} any more"
    path.write_text(whole.replace(text, instead, 1), encoding="utf-8")


def line_with(path: Path, text: str) -> int:
    lines = path.read_text(encoding="utf-8").splitlines()
    return next(number for number, line in enumerate(lines, 1) if text in line)


def check_sentence(sentence: str, path: Path, case: tuple[Any, ...]) -> None:
    """File, line, key, found, allowed."""
    at, key, found, allowed = case
    assert sentence.startswith(f"{path}, line ")
    assert "; allowed: " in sentence
    found_said, allowed_said = sentence.split("; allowed: ")
    if at is not None:
        assert f"{path}, line {line_with(path, at)}" in found_said
    if key is not None:
        assert f", key {key}" in found_said
    assert found in found_said.split("found ", 1)[1]
    assert allowed in allowed_said


@pytest.mark.parametrize("what", BAD_SITE)
def test_a_spoilt_site_starts_nothing(
    *, command: Any, own_site: Path, tmp_path: Path, what: str
) -> None:
    """Check and rehearse refuse a site with the same sentence, and there is no case."""
    file, text, instead, *expected = BAD_SITE[what]
    spoil(own_site / file, text, instead)
    cases = tmp_path / "cases"

    checked = command("check", "--site", own_site)
    rehearsed = command("rehearse", "--site", own_site, "--cases", cases)

    assert (checked.code, checked.out) == (2, "")
    check_sentence(checked.sentences[0], own_site / file, tuple(expected))
    assert (rehearsed.code, rehearsed.out, rehearsed.err) == (2, "", checked.err)
    assert not cases.exists()


def test_the_rehearsal_that_is_spoilt_here_is_a_good_one(command: Any, tmp_path: Path) -> None:
    """Before it is spoilt."""
    scenario = tmp_path / "small.yaml"
    scenario.write_text(SCENARIO, encoding="utf-8")
    assert command("check", scenario).code == 0


@pytest.mark.parametrize("what", BAD_SCENARIO)
def test_a_spoilt_rehearsal_starts_nothing(*, command: Any, tmp_path: Path, what: str) -> None:
    """Check and rehearse refuse a rehearsal with the same sentence, and there is no case."""
    scenario, cases = tmp_path / "small.yaml", tmp_path / "cases"
    scenario.write_text(SCENARIO, encoding="utf-8")
    text, instead, *expected = BAD_SCENARIO[what]
    spoil(scenario, text, instead)

    checked = command("check", scenario)
    rehearsed = command("rehearse", scenario, "--cases", cases)

    assert (checked.code, checked.out) == (2, "")
    check_sentence(checked.sentence, scenario, tuple(expected))
    assert (rehearsed.code, rehearsed.out, rehearsed.err) == (2, "", checked.err)
    assert not cases.exists()


@pytest.mark.parametrize(
    ("voice", "found"),
    [
        ("{engine: espeak, name: nobody}", "espeak-ng has no voice 'nobody'"),
        ("{engine: natural, name: /no/such.onnx}", "/no/such.onnx: found no such voice file"),
        ("{engine: natural, name: SCENARIO}", "found a file that is no voice"),
    ],
)
def test_a_voice_that_is_not_there_starts_nothing(
    *, command: Any, tmp_path: Path, voice: str, found: str
) -> None:
    """A voice is tried before there is a case."""
    scenario, cases = tmp_path / "small.yaml", tmp_path / "cases"
    voice = voice.replace("SCENARIO", str(scenario))
    text = SCENARIO.replace("{engine: espeak, name: en-us}", voice)
    scenario.write_text(text, encoding="utf-8")

    refused = command("rehearse", scenario, "--cases", cases)

    assert (refused.code, refused.out) == (2, "")
    assert found in refused.sentence
    assert not cases.exists()


def test_a_place_that_takes_no_cases_is_refused(command: Any, tmp_path: Path) -> None:
    """Cases cannot be made below a file."""
    (tmp_path / "file").write_text("", encoding="utf-8")

    refused = command("rehearse", "--cases", tmp_path / "file" / "cases")

    assert (refused.code, refused.out) == (2, "")
    assert "found a folder that cannot be written" in refused.sentence


@pytest.mark.parametrize(
    ("arguments", "found"),
    [
        (("rehearse", "FOLDER/none.yaml"), "none.yaml: found no such file; allowed: a YAML file"),
        (("rehearse", "--site", "FOLDER/none"), "found no such folder; allowed: a site's folder"),
        (("rehearse", "--engine", "ears"), "found 'ears'; allowed: closed, vosk"),
        (("rehearse", "--engine", "vosk", "--models", "FOLDER"), "models import"),
        (("hear", "--engine", "vosk", "--models", "FOLDER", "x.wav"), "no model called 'vosk'"),
        (("hear", "--engine", "ears", "x.wav"), "found 'ears'; allowed: closed, vosk"),
        (("hear", "FOLDER/none.wav"), "none.wav: found no such file; allowed: a WAV file"),
        (("hear", "FOLDER/not-sound.wav"), "found a file that is not sound; allowed: a WAV file"),
        (("hear", "FOLDER"), "found a folder; allowed: a WAV file"),
        (("dose", "moondust", "--weight-kg", "70"), "'moondust' is not on this formulary; allowed"),
        (("dose", "rocuronium", "--weight-kg", "heavy"), "found 'heavy'; allowed: a number"),
        (("dose", "rocuronium", "--weight-kg", "nan"), "found 'nan'; allowed: a number"),
        (("dose", "rocuronium", "--weight-kg", "12"), "from thirty to two hundred kilograms"),
        (("dose", "rocuronium", "--weight-kg", "700"), "from thirty to two hundred kilograms"),
        (("debrief", "FOLDER"), "found no case; allowed: a case's folder"),
        (("debrief", "FOLDER/none"), "found no case"),
        (("debrief", "FOLDER/not-sound.wav"), "found no case"),
        (("watch", "--case", "FOLDER"), "found a folder without a case; allowed: a case's folder"),
        (("check", "--against", "FOLDER"), "found no brief.yaml; allowed: a site's folder"),
        (("check", "--site", "x" * 300), "found a name that is too long"),
        (("rehearse", "FOLDER/none.yaml", "--text"), "--text has no sound; allowed: no rehearsal"),
        (("rehearse", f"{REHEARSALS}/smooth-in-text.txt"), "is played by: rehearse --text "),
        (("rehearse", f"{SCENARIOS}/early-fall.yaml"), "a scenario is for: patient "),
        (("rehearse", "--text", f"{REHEARSALS}/neck.yaml"), "is played by: rehearse "),
        (("models", "import", "FOLDER"), "found a folder; allowed: a model's ZIP archive"),
        (("watch", "--case", "FOLDER/none"), "found no such folder; allowed: a case's folder"),
    ],
)
def test_what_cannot_be_used_is_one_sentence(
    *, command: Any, tmp_path: Path, arguments: tuple[str, ...], found: str
) -> None:
    """Files, engines, drugs and weights that are none: exit 2, and nothing on standard output."""
    (tmp_path / "not-sound.wav").write_text("This is no sound.", encoding="utf-8")

    refused = command(*(one.replace("FOLDER", str(tmp_path)) for one in arguments))

    assert (refused.code, refused.out) == (2, "")
    assert found in refused.sentence
    assert refused.sentence.endswith(".")


def test_the_process_ends_with_2_and_without_a_traceback(own_site: Path, tmp_path: Path) -> None:
    """The same through the process that a shell starts."""
    spoil(own_site / "wording.yaml", "ask_at_most: 3", "ask_at_most: 0")
    refused = subprocess.run(
        [
            *(sys.executable, "-m", "assistant", "rehearse"),
            *("--site", str(own_site), "--cases", str(tmp_path / "cases")),
        ],
        check=False,
        capture_output=True,
        text=True,
        cwd=ROOT,
    )

    assert (refused.returncode, refused.stdout) == (2, "")
    assert len(refused.stderr.splitlines()) == 1
    assert "key timing.ask_at_most: found 0; allowed: at least" in refused.stderr
    assert not (tmp_path / "cases").exists()


def test_files_that_cannot_be_heard_silence_no_other(command: Any, tmp_path: Path) -> None:
    """Those before and after them have their answers; each bad one has a sentence; exit 2."""
    for name in ("first", "last"):
        soundfile.write(tmp_path / f"{name}.wav", np.zeros(16_000), 16_000)
    (tmp_path / "not-sound.wav").write_text("This is no sound.", encoding="utf-8")
    soundfile.write(tmp_path / "nan.wav", np.full(800, np.nan), 16_000, subtype="FLOAT")
    names = ("first.wav", "not-sound.wav", "none.wav", "nan.wav", "last.wav")

    called = command("hear", *(tmp_path / name for name in names))

    assert called.code == 2
    lines = [json.loads(line) for line in called.out.splitlines()]
    assert [Path(line["file"]).name for line in lines] == ["first.wav", "last.wav"]
    told = [line.rsplit("/", 1)[1] for line in called.sentences]
    assert told == [
        "not-sound.wav: found a file that is not sound; allowed: a WAV file.",
        "none.wav: found no such file; allowed: a WAV file.",
        "nan.wav: found sound with numbers that are none; allowed: a WAV file.",
    ]
