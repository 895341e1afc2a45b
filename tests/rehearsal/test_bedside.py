"""The simulated patient beside a real room: played for the case at hand, and steered."""

import os
from pathlib import Path

import pytest

from assistant.clock import MonotonicClock
from assistant.commands.main import main
from assistant.debrief.marks import marks_of
from assistant.debrief.timeline import read_timeline
from assistant.files.yaml_files import read_yaml
from assistant.journal.at_hand import take_in_hand
from assistant.journal.facilitator import RECORD_NAME
from assistant.journal.journal import Journal
from assistant.oximeter.settings import OximeterSettings
from assistant.patient.course import Course, CourseStep, Does, Oximeter, SimulatedPatient, Steer
from assistant.patient.stores import Breathing
from assistant.rehearsal.bedside import BEGAN, Bedside

CONFIGS = Path(__file__).parents[2] / "configs"
COURSE = Course.model_validate_json(
    '{"weight_kg": 80, "height_cm": 175, "start_spo2_percent": 97,'
    ' "steps": [{"on": "oxygen-on", "does": "preoxygenate"}]}'
)


def test_a_facilitator_has_the_patient_fall_and_come_back() -> None:
    """Whatever the course: below 90 % within two minutes, though on oxygen, and back in two."""
    patient = SimulatedPatient(COURSE)
    patient.cue("oxygen-on", 0)
    patient.advance(180)
    assert patient.spo2_percent > 98
    patient.steer(Steer.DESATURATE)
    patient.advance(300)
    assert 75 < patient.spo2_percent < 90
    patient.steer(Steer.RECOVER)
    patient.advance(420)
    assert patient.spo2_percent > 97


def test_a_patient_who_does_not_breathe_is_bagged_to_recover() -> None:
    """Nobody begins to breathe by himself because somebody pressed a key."""
    patient = SimulatedPatient(
        Course.model_validate(
            COURSE.model_dump() | {"steps": (CourseStep(at_s=0, does=Does.APNOEA),)}
        )
    )
    patient.advance(10)
    patient.steer(Steer.RECOVER)
    assert patient.breathing is Breathing.BAGGED


def test_the_signal_is_lost_and_comes_back() -> None:
    """The oximeter is off the finger, and on it again; the patient is as before."""
    patient = SimulatedPatient(COURSE)
    patient.steer(Steer.LOSE_SIGNAL)
    assert patient.oximeter is Oximeter.OFF_FINGER
    patient.steer(Steer.SIGNAL_BACK)
    assert patient.oximeter is Oximeter.ON_FINGER


def test_he_is_played_for_the_case_at_hand_and_it_is_on_record(tmp_path: Path) -> None:
    """Before there is a case too, but then nothing is on record; frames come all the while."""
    layout = read_yaml(CONFIGS / "tarn-hollow" / "oximeter.yaml", OximeterSettings).frame_layout
    bedside = Bedside(COURSE, layout, tmp_path)
    port = os.open(bedside.port, os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY)
    bedside.step()
    assert bedside.steer(Steer.LOSE_SIGNAL) is False
    assert os.read(port, 4096)
    os.close(port)

    case = tmp_path / "one"
    case.mkdir()
    Journal(case, MonotonicClock(), "Small brief")
    take_in_hand(tmp_path, case)
    bedside = Bedside(COURSE, layout, tmp_path)
    bedside.step()
    assert bedside.steer(Steer.DESATURATE) is True
    found = [(one.meaning, one.text) for one in marks_of(read_timeline(case))]
    assert found == [("steered", BEGAN), ("steered", "desaturate")]


def test_live_goes_with_nothing_that_plays_faster(capsys: pytest.CaptureFixture[str]) -> None:
    """One sentence."""
    scenario = str(CONFIGS / "rehearsals" / "night-shift.yaml")
    assert main(["patient", scenario, "--live", "--minutes", "3"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_a_record_that_takes_nothing_does_not_stop_him(tmp_path: Path) -> None:
    """The patient goes on, and the key's answer says that it is not on record."""
    layout = read_yaml(CONFIGS / "tarn-hollow" / "oximeter.yaml", OximeterSettings).frame_layout
    case = tmp_path / "one"
    case.mkdir()
    Journal(case, MonotonicClock(), "Small brief")
    (case / RECORD_NAME).mkdir()
    take_in_hand(tmp_path, case)
    bedside = Bedside(COURSE, layout, tmp_path)
    bedside.step()
    assert bedside.steer(Steer.DESATURATE) is False
    bedside.step()
