"""A course, from its cues to the frames of the simulated oximeter."""

import os
from itertools import pairwise
from pathlib import Path

import pytest
from pydantic import ValidationError

from assistant.files.yaml_files import read_yaml
from assistant.oximeter.crossing import Call, Crossing, CrossingSettings
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import BluetoothLayout, OximeterSettings, SerialLayout
from assistant.patient.course import Course, SimulatedPatient
from assistant.patient.finger import SimulatedOximeter, open_pty

SETTINGS = read_yaml(
    Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
)
LAYOUTS: dict[str, SerialLayout] = {
    name: layout
    for name, layout in SETTINGS.layouts.items()
    if not isinstance(layout, BluetoothLayout)
}

READY_COURSE = """
{
  "weight_kg": 105, "height_cm": 168, "oxygen_use": 1.3, "pulse_bpm": 104,
  "start_spo2_percent": 94, "start_oxygen_fraction": 0.7,
  "steps": [
    {"on": "oxygen-on", "does": "preoxygenate"},
    {"on": "attempt-started", "does": "apnoea"},
    {"on": "bagging", "does": "bag"},
    {"on": "tube-in", "does": "bag"}
  ]
}
"""
"""A case of eight minutes: septic, heavy, on oxygen by mask from the start."""


def course(**changes: object) -> Course:
    """The ready course, changed."""
    return Course.model_validate(Course.model_validate_json(READY_COURSE).model_dump() | changes)


class Bedside:
    """The patient, the oximeter, and what is read at the other end of its line."""

    def __init__(self, one: Course, layout: SerialLayout) -> None:
        self.patient = SimulatedPatient(one)
        self.pty = open_pty()
        self._reader = os.open(self.pty.slave_path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY)
        self.oximeter = SimulatedOximeter(self.patient, layout, self.pty.master_fd)
        self._decoder = layout.decoder()
        self.samples: list[Sample] = []

    def run(self, from_s: float, to_s: float) -> None:
        for tick in range(round(from_s * 10), round(to_s * 10)):
            self.oximeter.step(tick / 10)
            try:
                data = os.read(self._reader, 4096)
            except BlockingIOError:
                continue
            self.samples.extend(self._decoder.take(data, tick / 10))

    def close(self) -> None:
        os.close(self._reader)
        os.close(self.pty.master_fd)


def calls(samples: list[Sample]) -> list[Call]:
    crossing = Crossing(CrossingSettings())
    taken = [call for one in samples for call in (crossing.take(one), crossing.tick(one.at_s))]
    return [call for call in taken if call is not None]


@pytest.mark.parametrize("name", list(LAYOUTS))
def test_a_rehearsal_has_one_crossing_and_a_recovery(name: str) -> None:
    """In eight minutes 93 is reached once, after the attempt began, and bagging brings it back."""
    bedside = Bedside(course(), LAYOUTS[name])
    bedside.run(0, 30)
    bedside.patient.cue("oxygen-on", 30)
    bedside.run(30, 240)
    bedside.patient.cue("attempt-started", 240)
    bedside.run(240, 360)
    bedside.patient.cue("tube-in", 360)
    bedside.run(360, 480)
    bedside.close()

    called = calls(bedside.samples)

    assert [(call.kind.value, call.level_percent) for call in called] == [("fell", 93)]
    assert 310 < called[0].at_s < 360
    shown = [one.spo2_percent for one in bedside.samples if one.spo2_percent is not None]
    assert shown[0] == 94
    assert min(shown) > 88
    assert shown[-1] > 95
    assert len(shown) == pytest.approx(480 * LAYOUTS[name].frames_per_s, rel=0.01)
    assert all(abs(a - b) <= 2 for a, b in pairwise(shown))


def test_the_finger_is_later_than_the_lungs() -> None:
    """What is shown trails the blood in the arteries by the delay and half the average."""
    bedside = Bedside(course(start_spo2_percent=98), LAYOUTS["three-byte"])
    bedside.patient.cue("attempt-started", 0)
    left_s = shown_s = 0.0
    for tick in range(6000):
        bedside.oximeter.step(tick / 10)
        left_s = left_s or (tick / 10 if bedside.patient.spo2_percent < 90 else 0.0)
        shown_s = shown_s or (tick / 10 if bedside.oximeter.shown_percent < 90 else 0.0)
    bedside.close()

    assert 10 < shown_s - left_s < 18


def test_steps_at_times_and_with_the_oximeter() -> None:
    """A finger that slips out and a plug that is pulled are seen as such, at their times."""
    steps = (
        {"does": "finger-off", "at_s": 10.0},
        {"does": "finger-on", "at_s": 15.0},
        {"does": "unplug", "at_s": 20.0},
        {"does": "plug-in", "at_s": 25.0},
    )
    one = Course.model_validate_json(READY_COURSE).model_dump(mode="json") | {"steps": steps}
    bedside = Bedside(Course.model_validate(one, strict=False), LAYOUTS["three-byte"])
    bedside.run(0, 30)
    bedside.close()

    seen = {round(sample.at_s): sample.why for sample in bedside.samples}

    assert [at_s for at_s, why in seen.items() if "no finger" in why] == [10, 11, 12, 13, 14]
    assert set(range(30)) - set(seen) == {20, 21, 22, 23, 24}


def test_a_cue_may_act_later_and_again() -> None:
    """`after_s` counts from the cue, and a cue that is given twice acts twice."""
    steps = [
        {"does": "apnoea", "on": "attempt-started", "after_s": 45.0},
        {"does": "bag", "on": "bagging"},
    ]
    one = Course.model_validate_json(READY_COURSE).model_dump(mode="json") | {"steps": steps}
    patient = SimulatedPatient(Course.model_validate(one, strict=False))
    patient.cue("attempt-started", 0)
    patient.advance(40)
    before = patient.alveolar_oxygen
    patient.advance(60)
    in_apnoea = patient.alveolar_oxygen
    patient.cue("bagging", 60)
    patient.advance(200)
    bagged = patient.alveolar_oxygen
    patient.cue("attempt-started", 200)
    patient.advance(300)

    assert in_apnoea < before < bagged
    assert patient.alveolar_oxygen < bagged - 0.1


def test_going_back_in_time_changes_nothing() -> None:
    """An advance to a time that has passed leaves the patient alone."""
    patient = SimulatedPatient(course())
    patient.advance(100)
    before = patient.spo2_percent, patient.pulse_bpm
    patient.advance(50)

    assert (patient.spo2_percent, patient.pulse_bpm) == before


def test_nobody_reading_blocks_nobody() -> None:
    """An oximeter that nobody reads goes on; the line loses what it cannot hold."""
    bedside = Bedside(course(), LAYOUTS["five-byte"])

    bedside.oximeter.step(120.0)
    bedside.oximeter.step(240.0)

    bedside.close()


@pytest.mark.parametrize(
    "step",
    [
        '{"does": "bag"}',
        '{"does": "bag", "on": "bagging", "at_s": 3}',
        '{"does": "bag", "at_s": 3, "after_s": 4}',
        '{"does": "unplug", "at_s": 3, "oxygen_fraction": 0.5}',
        '{"does": "something", "at_s": 3}',
    ],
)
def test_a_step_that_makes_no_sense_is_refused(step: str) -> None:
    """A step has a time or a cue, and only what belongs to it."""
    with pytest.raises(ValidationError):
        Course.model_validate_json(READY_COURSE.replace('"steps": [', f'"steps": [{step},'))


@pytest.mark.parametrize("name", list(LAYOUTS))
@pytest.mark.parametrize(("spo2", "pulse"), [(98, 72), (98, 200), (89, 132), (1, 30), (100, 250)])
def test_frames_are_written_as_they_are_read(name: str, spo2: int, pulse: int) -> None:
    """What the simulated oximeter writes, the decoder reads back."""
    frame = LAYOUTS[name].encode(spo2, pulse, wave=64)

    (sample,) = LAYOUTS[name].decoder().take(frame, 0.0)

    assert (sample.spo2_percent, sample.pulse_bpm, sample.usable) == (spo2, pulse, True)


@pytest.mark.parametrize(
    ("name", "frame"), [("five-byte", "80 40 07 48 62"), ("three-byte", "80 48 62")]
)
def test_frames_are_the_published_ones(name: str, frame: str) -> None:
    """98 % at 72 a minute is written as the published vectors have it, but for signal strength."""
    wave = 0x40 if name == "five-byte" else 0
    expected = bytearray(bytes.fromhex(frame))
    if name == "five-byte":
        expected[2] = 0  # nor does it draw a bar

    assert LAYOUTS[name].encode(98, 72, wave) == bytes(expected)


def with_steps(*steps: dict[str, object], **changes: object) -> Course:
    one = Course.model_validate_json(READY_COURSE).model_dump(mode="json")
    return Course.model_validate(one | changes | {"steps": steps}, strict=False)


@pytest.mark.parametrize("name", list(LAYOUTS))
@pytest.mark.parametrize("does", ["move", "cool"])
def test_artefacts_are_seen_and_not_called(name: str, does: str) -> None:
    """A moving or a cold hand spoils figures for minutes, and nothing is called for it."""
    one = with_steps({"does": does, "at_s": 20.0}, start_spo2_percent=97)
    bedside = Bedside(one, LAYOUTS[name])
    bedside.run(0, 180)
    bedside.close()

    late = [sample for sample in bedside.samples if sample.at_s > 20]
    lost = sum(not sample.usable for sample in late) / len(late)

    assert 0.2 < lost < 0.5
    assert any((sample.spo2_percent or 100) < 80 for sample in late) == (does == "move")
    assert calls(bedside.samples) == []


def test_a_fall_is_called_through_motion() -> None:
    """With the hand moving all the time, a real fall is called, once, and not much later."""
    times = {}
    for does in ("finger-on", "move"):
        one = with_steps({"does": does, "at_s": 0.0}, {"does": "apnoea", "at_s": 10.0})
        bedside = Bedside(one, LAYOUTS["five-byte"])
        bedside.run(0, 100)
        bedside.close()
        first, *others = calls(bedside.samples)
        assert (first.kind.value, first.level_percent) == ("fell", 93)
        assert all(call.level_percent != 93 for call in others)
        times[does] = first.at_s

    assert 0 <= times["move"] - times["finger-on"] < 10


def test_the_bag_fills_at_its_rate() -> None:
    """From 80 %, breaths every six seconds bring it back sooner than breaths every twenty."""
    recovered = {}
    for rate in (10.0, 3.0):
        one = with_steps(
            {"does": "apnoea", "at_s": 0.0},
            {"does": "bag", "on": "bagging", "breaths_per_min": rate, "breath_ml": 450.0},
        )
        patient, at_s = SimulatedPatient(one), 0.0
        while patient.spo2_percent > 80:
            at_s += 1
            patient.advance(at_s)
        patient.cue("bagging", at_s)
        began_s = at_s
        while patient.spo2_percent < 94 and at_s < began_s + 600:
            at_s += 1
            patient.advance(at_s)
        recovered[rate] = at_s - began_s

    assert recovered[10.0] < 90
    assert recovered[10.0] < recovered[3.0] / 1.5


def test_a_rate_without_a_bag_is_refused() -> None:
    """How often and how much belong together, and to a bag."""
    for step in (
        {"does": "bag", "at_s": 1.0, "breaths_per_min": 10.0},
        {"does": "apnoea", "at_s": 1.0, "breaths_per_min": 10.0, "breath_ml": 500.0},
    ):
        with pytest.raises(ValidationError, match="together, and only with bag"):
            with_steps(step)
