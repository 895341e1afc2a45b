"""The rule on real saturation: induced hypoxia, one reading a second.

University of Washington smartphone oximetry data (github: ubicomplab/oximetry-phone-cam-data,
commit c483ae8f, MIT). The recordings are not part of the project: SPOKEN_BRIEF_SHARED names the
folder that has them under `oximetry`.
"""

import csv
import os
from dataclasses import replace
from itertools import cycle
from pathlib import Path

import pytest

from assistant.oximeter.crossing import Call, CallKind, Crossing, CrossingSettings
from assistant.oximeter.samples import Sample

SHARED = os.environ.get("SPOKEN_BRIEF_SHARED", "")
pytestmark = pytest.mark.skipif(not SHARED, reason="SPOKEN_BRIEF_SHARED is not set")
RECORDINGS = [
    (person, column)
    for person in ("100001", "100002", "100003")
    for column in (1, 2, 4, 5)  # the third was never filled
]


def samples(person: str, column: int) -> list[Sample]:
    """Data rows count from 1, and a row is a second."""
    path = Path(SHARED) / "oximetry" / f"{person}.csv"
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    return [
        Sample(
            float(number),
            round(float(row[f"SpO2 {column}"] or 0)),
            round(float(row[f"Pulse {column}"] or 0)),
            usable=True,
        )
        for number, row in enumerate(rows, start=1)
    ]


def calls(recording: list[Sample], settings: CrossingSettings | None = None) -> list[Call]:
    crossing = Crossing(settings or CrossingSettings())
    taken = [call for one in recording for call in (crossing.take(one), crossing.tick(one.at_s))]
    return [call for call in taken if call is not None]


def test_the_calls_of_one_recording() -> None:
    """Person 100001, oximeter 5: first at 93 in row 225 and at 85 in row 457; called two rows on.

    The recording's first rows below 94, 93, 90, 88 and 85, counted from 0, are 224, 305, 371, 404
    and 476.
    """
    recording = samples("100001", 5)
    below = [
        next(row for row, one in enumerate(recording) if 0 < (one.spo2_percent or 0) < level)
        for level in (94, 93, 90, 88, 85)
    ]

    called = [(call.level_percent, call.at_s) for call in calls(recording)]

    assert below == [224, 305, 371, 404, 476]
    assert called == [(93, 227.0), (85, 459.0), (77, 622.0), (69, 756.0)]


@pytest.mark.parametrize(("person", "column"), RECORDINGS)
def test_each_level_is_called_when_it_is_first_held(person: str, column: int) -> None:
    """The first call of a level comes with the third row in a row that lies at or below it."""
    recording = samples(person, column)
    percents = [one.spo2_percent or 100 for one in recording]
    first = {
        call.level_percent: call.at_s
        for call in reversed(calls(recording))
        if call.kind is CallKind.FELL
    }

    held = {
        level: next(
            (row for row in range(3, len(percents) + 1) if max(percents[row - 3 : row]) <= level),
            None,
        )
        for level in CrossingSettings().levels_percent()
    }

    assert first == {level: row for level, row in held.items() if row is not None}


@pytest.mark.parametrize(("person", "column"), RECORDINGS)
def test_nothing_but_falls_is_called(person: str, column: int) -> None:
    """In a quarter of an hour of real readings there is no false loss and no artefact's call."""
    kinds = {call.kind for call in calls(samples(person, column))}

    assert kinds in ({CallKind.FELL}, {CallKind.FELL, CallKind.FELL_AGAIN})


@pytest.mark.parametrize(("person", "column"), RECORDINGS)
def test_new_falls_take_no_call_and_delay_none(person: str, column: int) -> None:
    """Without new falls, which 50 points forbid, the other calls are the same, at the same rows."""
    recording = samples(person, column)
    without = calls(recording, CrossingSettings(new_fall_percent=50))

    assert [call for call in calls(recording) if call.kind is CallKind.FELL] == without


def test_how_often_is_called() -> None:
    """A dozen calls an hour through induced hypoxia; new falls add fewer than one in ten."""
    recordings = [samples(person, column) for person, column in RECORDINGS]
    hours = sum(map(len, recordings)) / 3600
    made = [call.kind for recording in recordings for call in calls(recording)]
    again = made.count(CallKind.FELL_AGAIN)

    print(f"{len(made) / hours:.1f} calls an hour, {again / hours:.1f} of them new falls")
    assert 0 < again < len(made) / 10


@pytest.mark.parametrize(("person", "column"), RECORDINGS)
def test_artefacts_in_between_change_no_call(person: str, column: int) -> None:
    """Spikes to 0, 127 and 30 %, twice a minute, some flagged, neither add nor take a call."""
    recording = samples(person, column)
    spoilt = [
        one if one.at_s % 29 else replace(one, spo2_percent=spike, usable=spike != 0)
        for one, spike in zip(recording, cycle([0, 127, 30]), strict=False)
    ]

    clean_calls, spoilt_calls = calls(recording), calls(spoilt)

    assert [call.level_percent for call in spoilt_calls] == [
        call.level_percent for call in clean_calls
    ]
    late_s = [a.at_s - b.at_s for a, b in zip(spoilt_calls, clean_calls, strict=True)]
    assert all(0 <= late <= 2 for late in late_s)


def test_a_column_that_was_never_filled_is_a_lost_signal() -> None:
    """Zero is no saturation: oximeter 3 gives one call, that there is no signal."""
    assert [call.kind for call in calls(samples("100001", 3))] == [CallKind.SIGNAL_LOST]
