"""Recorded feeds: written while watching, replayed with their times."""

import os
from pathlib import Path

import pytest

from assistant.clock import SoundClock
from assistant.errors import BadInput
from assistant.files.yaml_files import read_yaml
from assistant.oximeter.feed import SerialFeed
from assistant.oximeter.replay import OVER, RawRecording, ReplayFeed
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import OximeterSettings
from assistant.patient.finger import open_pty

SETTINGS = read_yaml(
    Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
)


def replayed(path: Path, name: str) -> list[Sample]:
    """All samples of a recording, on a clock that goes in steps of 10 ms."""
    clock = SoundClock()
    feed = ReplayFeed(path, SETTINGS.layouts[name], clock)
    samples: list[Sample] = []
    while not feed.over:
        samples += feed.read()
        clock.move_to(clock.now_s() + 0.01)
    feed.close()
    return samples


def test_what_was_recorded_is_replayed(tmp_path: Path) -> None:
    """Bytes from a real port, garbage and halves included, give the same samples again."""
    master, port = open_pty()
    clock, layout = SoundClock(), SETTINGS.frame_layout
    recording = RawRecording(tmp_path / "feed.txt")
    feed = SerialFeed(port, layout, clock, recording)
    seen = list(feed.read())
    for number in range(300):
        clock.move_to(5.0 + number / 60)
        frame = layout.encode(95 - number // 60, 70 + number % 5, number % 128)
        os.write(
            master,
            os.urandom(3) + frame if number % 50 == 0 else frame[: 4 if number % 7 == 3 else 5],
        )
        seen += feed.read()
    feed.close()
    recording.close()
    os.close(master)

    again = replayed(tmp_path / "feed.txt", "five-byte")

    assert len(seen) > 240
    assert [(one.spo2_percent, one.pulse_bpm) for one in again] == [
        (one.spo2_percent, one.pulse_bpm) for one in seen
    ]
    shift_s = seen[0].at_s - again[0].at_s
    for one, was in zip(again, seen, strict=True):
        assert one.at_s + shift_s == pytest.approx(was.at_s, abs=0.002)


def test_a_table_is_replayed_line_by_line(tmp_path: Path) -> None:
    """A file without times goes at the pace of its layout: here a line a second."""
    path = tmp_path / "table.csv"
    path.write_text("Time,SpO2,Pulse\n10:00:00,97,70\n10:00:01,96,71\n", "utf-8")

    samples = replayed(path, "columns")

    assert [(one.at_s, one.spo2_percent) for one in samples] == [
        (0.0, None),  # the heading has columns, and no figures in them
        (1.0, 97),
        (2.0, 96),
    ]


def test_plain_frames_are_replayed_at_their_pace(tmp_path: Path) -> None:
    """Bytes without times go frame by frame."""
    path = tmp_path / "bytes"
    path.write_bytes(SETTINGS.frame_layout.encode(97, 70) * 61)

    samples = replayed(path, "five-byte")

    assert len(samples) == 61
    assert samples[-1].at_s == pytest.approx(1.0)


def test_packets_need_their_times(tmp_path: Path) -> None:
    """Nothing tells where a packet ends but the recording's own lines."""
    path = tmp_path / "packets"
    path.write_bytes(bytes.fromhex("0062004800"))
    with pytest.raises(BadInput, match="a recording with its heading"):
        ReplayFeed(path, SETTINGS.layouts["bluetooth"], SoundClock())

    recording = RawRecording(path)
    recording(7.0, bytes.fromhex("0062004800"))
    recording(8.0, bytes.fromhex("0061004800"))
    recording.close()

    assert [(one.at_s, one.spo2_percent) for one in replayed(path, "bluetooth")] == [
        (0.0, 98),
        (1.0, 97),
    ]


def test_a_torn_end_is_no_fault_and_a_spoilt_middle_is(tmp_path: Path) -> None:
    """A power cut costs the last line; a line that is none ends the replay with its number."""
    path = tmp_path / "feed.txt"
    recording = RawRecording(path)
    for second in range(3):
        recording(float(second), SETTINGS.frame_layout.encode(97, 70))
    recording.close()
    whole = path.read_bytes()

    path.write_bytes(whole[:-5])
    assert len(replayed(path, "five-byte")) == 2

    lines = whole.splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:2], b"what is this\n", *lines[2:]]))
    clock = SoundClock()
    feed = ReplayFeed(path, SETTINGS.frame_layout, clock)
    clock.move_to(10.0)
    feed.read()
    assert feed.over
    assert "line 3" in feed.fault
    assert feed.fault != OVER


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """Neither a recording to read nor a place to write one: one sentence."""
    with pytest.raises(BadInput, match="no such file"):
        ReplayFeed(tmp_path / "none", SETTINGS.frame_layout, SoundClock())
    with pytest.raises(BadInput, match="a file that can be written"):
        RawRecording(tmp_path / "no" / "such" / "folder")
