"""A course played for teaching, and its picture, through the command line."""

import sys
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.files.yaml_files import read_yaml
from assistant.oximeter.settings import OximeterSettings
from assistant.patient.course import Course
from assistant.patient.lesson import Lesson, breathing_name, play
from assistant.patient.picture import LEGEND, STATES, draw
from assistant.patient.stores import Breathing

ROOT = Path(__file__).parents[2]
SCENARIO = ROOT / "configs" / "rehearsals" / "night-shift.yaml"
SETTINGS = read_yaml(ROOT / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings)
SEPTIC = {
    "weight_kg": 70,
    "height_cm": 168,
    "start_spo2_percent": 94,
    "start_oxygen_fraction": 0.7,
    "oxygen_use": 2.0,
}


def lesson(*steps: dict[str, object], at: dict[str, float] | None = None) -> Lesson:
    return play(Course.model_validate({**SEPTIC, "steps": steps}, strict=False), SETTINGS, at or {})


def test_cues_come_by_themselves() -> None:
    """Oxygen, apnoea, the call, the bag soon after it, and a recovery: a lesson without a clock."""
    one = lesson(
        {"does": "preoxygenate", "on": "oxygen-on"},
        {"does": "apnoea", "on": "attempt-started"},
        {"does": "bag", "on": "attempt-failed"},
    )

    (call,) = one.calls
    phases = {phase.name: phase.from_s for phase in one.breathing}
    assert (call.text, call.level_percent) == ("Saturation ninety-three.", 93)
    assert phases["apnoea"] == 240
    assert phases["bagged"] == pytest.approx(call.at_s + 15, abs=0.5)
    assert one.shown_percent[-1] is not None
    assert one.shown_percent[-1] > 93
    assert len(one.at_s) == len(one.blood_percent) == len(one.shown_percent)


def test_cues_come_when_they_are_told_to() -> None:
    """A time that is given is kept, and what is out of the ordinary about the oximeter is told."""
    one = lesson(
        {"does": "apnoea", "on": "attempt-started"},
        {"does": "finger-off", "at_s": 20.0},
        {"does": "finger-on", "at_s": 40.0},
        at={"attempt-started": 60.0},
    )

    assert [(phase.name, phase.from_s) for phase in one.breathing][-1] == ("apnoea", 60)
    assert [(phase.name, phase.from_s) for phase in one.oximeter] == [("off the finger", 20)]
    assert one.calls[0].text == SETTINGS.words.signal_lost


def test_a_scenario_is_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The shipped rehearsal as a picture, whose words are there to be read."""
    path = tmp_path / "curve.svg"

    words = ["--minutes", "4.5", "--at", "attempt-started=90"]
    assert main(["patient", str(SCENARIO), "--plot", str(path), *words]) == 0

    data = path.read_bytes()
    assert data.startswith(b"<?xml")
    assert len(data) > 10_000
    assert "called: Saturation ninety-three." in capsys.readouterr().out
    for words in (b"threshold 93 %", b"Saturation ninety-three.", b"minutes", b"apnoea"):
        assert b"<!-- " + words in data or words in data


def test_a_lesson_is_drawn_as_its_ending_says(tmp_path: Path) -> None:
    """Also in dots."""
    path = tmp_path / "curve.png"

    draw(lesson({"does": "apnoea", "at_s": 5.0}), "a lesson", 93, path)

    data = path.read_bytes()
    assert data.startswith(b"\x89PNG")
    assert len(data) > 10_000


def test_a_colour_means_a_state() -> None:
    """Every state of breathing has its ground, and apnoea has the same in all its kinds."""
    names = {breathing_name(breathing, oxygen) for breathing in Breathing for oxygen in (0.21, 1.0)}

    assert names <= set(STATES)
    assert len({STATES[name] for name in names if name.startswith("apnoea")}) == 1
    assert set(LEGEND.values()) == {STATES[name] for name in names}


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (["--at", "nothing=3"], "a cue of the scenario's patient"),
        (["--minutes", "0"], "above 0, up to 120"),
        (["--plot", "curve.nothing"], "a file ending in .png, .svg, .pdf"),
    ],
)
def test_what_makes_no_sense_is_refused(
    words: list[str], complaint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence and exit code 2."""
    assert main(["patient", str(SCENARIO), *words]) == 2
    assert complaint in capsys.readouterr().err


def test_without_the_library_a_teacher_is_told_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Refused in one sentence, before anything is played."""
    monkeypatch.setitem(sys.modules, "matplotlib", None)

    assert main(["patient", str(SCENARIO), "--plot", "curve.png"]) == 2
    assert "installing the project with [plot]" in capsys.readouterr().err
