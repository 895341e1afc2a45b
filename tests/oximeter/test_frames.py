"""Frames to samples: the vectors of two layouts, and whatever else a line may carry.

The vectors were derived from the layouts as published readers have them in their source. Read
there: the bit masks of the five-byte frame and the two figures that mean "missing" (pulse rate
511, saturation 127) of the three-byte frame. From memory: the line settings, the five-byte frame's
127 and 255, and the plain three-byte layout.
"""

import random
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from assistant.files.yaml_files import read_yaml
from assistant.oximeter.crossing import CallKind, Crossing
from assistant.oximeter.frames import RECENT_S, FrameDecoder, FrameLayout
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import OximeterSettings

SETTINGS = read_yaml(
    Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
)
LAYOUTS = {
    name: layout for name, layout in SETTINGS.layouts.items() if isinstance(layout, FrameLayout)
}
FIVE, THREE = LAYOUTS["five-byte"], LAYOUTS["three-byte"]
GOOD = {"five-byte": bytes.fromhex("8840074862"), "three-byte": bytes.fromhex("804862")}


def decoded(layout: FrameLayout, data: bytes) -> list[Sample]:
    return list(FrameDecoder(layout).take(data, 0.0))


@pytest.mark.parametrize(
    ("layout", "frame", "spo2", "pulse", "usable"),
    [
        (FIVE, "88 40 07 48 62", 98, 72, True),
        (FIVE, "88 40 47 48 62", 98, 200, True),  # the rate's top bit travels in another byte
        (FIVE, "88 40 47 04 59", 89, 132, True),
        (FIVE, "9F 00 50 7F 7F", None, None, False),
        (THREE, "80 48 62", 98, 72, True),
        (THREE, "81 48 62", 98, 200, True),
        (THREE, "82 2C 59", 89, 300, True),
        (THREE, "C3 7F 7F", None, None, False),
    ],
)
def test_published_vectors(
    layout: FrameLayout, frame: str, spo2: int | None, pulse: int | None, usable: bool
) -> None:
    """Each vector gives its saturation and its pulse rate, or says that it has none."""
    (sample,) = decoded(layout, bytes.fromhex(frame))

    assert (sample.spo2_percent, sample.pulse_bpm, sample.usable) == (spo2, pulse, usable)


def test_a_flag_says_why() -> None:
    """A flagged frame is not usable and names its flags; a mere remark leaves it usable."""
    (no_finger,) = decoded(THREE, bytes.fromhex("C3 7F 7F"))
    (faint,) = decoded(THREE, bytes.fromhex("90 48 62"))

    assert no_finger.why == "no finger, no saturation, no pulse rate"
    assert (faint.usable, faint.why) == (True, "low perfusion")


@pytest.mark.parametrize("name", list(GOOD))
@given(data=st.binary(max_size=200))
def test_any_bytes_never_give_an_impossible_saturation(name: str, data: bytes) -> None:
    """Whatever the line carries, a saturation lies within 0 and 100 or is none."""
    for sample in decoded(LAYOUTS[name], data):
        assert sample.spo2_percent is None or 0 <= sample.spo2_percent <= 100
        assert sample.usable <= (sample.spo2_percent is not None)


@pytest.mark.parametrize("name", list(GOOD))
@given(data=st.binary(max_size=60), frames=st.integers(min_value=2, max_value=6))
def test_resynchronises_at_the_next_frame(name: str, data: bytes, frames: int) -> None:
    """After any garbage, every good frame is read: a bad frame never costs the next good one."""
    good = Sample(0.0, 98, 72, usable=True, wave=0x40 if name == "five-byte" else None)

    samples = decoded(LAYOUTS[name], data + GOOD[name] * frames)

    assert samples[-frames:] == [good] * frames


@pytest.mark.parametrize("name", list(GOOD))
@given(
    cuts=st.lists(st.integers(min_value=0, max_value=60), max_size=12),
    noise=st.binary(max_size=20),
)
def test_pieces_of_any_size_read_alike(name: str, cuts: list[int], noise: bytes) -> None:
    """How the bytes are cut into reads changes nothing."""
    data = GOOD[name] * 5 + noise + GOOD[name] * 5
    edges = [0, *sorted(min(cut, len(data)) for cut in cuts), len(data)]
    decoder = FrameDecoder(LAYOUTS[name])

    pieces = [data[a:b] for a, b in pairwise(edges)]
    samples = [sample for piece in pieces for sample in decoder.take(piece, 0.0)]

    assert samples == decoded(LAYOUTS[name], data)


def test_lost_bytes_cost_only_their_frames() -> None:
    """With one byte in a hundred lost, all frames that are whole are still read."""
    chance = random.Random(3)
    kept, whole = bytearray(), 0
    for _ in range(2000):
        frame = bytes(byte for byte in GOOD["five-byte"] if chance.random() > 0.01)
        kept += frame
        whole += frame == GOOD["five-byte"]

    samples = decoded(FIVE, bytes(kept))

    assert len([sample for sample in samples if sample.spo2_percent == 98]) == whole


STEP_S = 0.02


def taken(layout: FrameLayout, pieces: list[bytes]) -> list[tuple[float, int | None]]:
    """When which saturation is given of pieces that come one a step."""
    decoder = layout.decoder()
    return [
        (number * STEP_S, sample.spo2_percent)
        for number, piece in enumerate(pieces)
        for sample in decoder.take(piece, number * STEP_S)
    ]


@pytest.mark.parametrize("name", list(GOOD))
@pytest.mark.parametrize("each", [3, 6, 20])
def test_noise_is_no_oximeter(name: str, each: int) -> None:
    """Two minutes of random bytes without a checksum: hardly a moment is believed, and no call."""
    chance, crossing, calls = random.Random(each), Crossing(SETTINGS.crossing), []
    decoder, believed = LAYOUTS[name].decoder(), 0
    for step in range(6000):
        at_s = step * STEP_S
        samples = decoder.take(chance.randbytes(each), at_s)
        believed += len(samples)
        calls += [crossing.take(sample) for sample in samples] + [crossing.tick(at_s)]

    assert {call.kind for call in calls if call} <= {CallKind.FEED_LOST, CallKind.SIGNAL_LOST}
    assert believed < 20


@pytest.mark.parametrize("name", list(GOOD))
def test_a_device_is_read_at_once_and_soon_after_noise(name: str) -> None:
    """Its very first frame counts; after noise of any length it is read within two seconds."""
    frame, chance = GOOD[name], random.Random(2)
    noise = [chance.randbytes(6) for _ in range(500)]

    assert taken(LAYOUTS[name], [frame]) == [(0.0, 98)]
    true = taken(LAYOUTS[name], [*noise, *[frame] * 200])
    after = [at_s for at_s, spo2 in true if at_s >= 500 * STEP_S]
    assert after[0] <= 500 * STEP_S + RECENT_S + STEP_S
    assert len(after) >= 200 - RECENT_S / STEP_S


def test_a_line_that_loses_much_is_read_all_the_same() -> None:
    """One byte in ten is lost, and six frames of ten are whole."""
    chance = random.Random(3)
    pieces = [
        bytes(byte for byte in GOOD["five-byte"] if chance.random() > 0.1) for _ in range(1000)
    ]
    whole = sum(piece == GOOD["five-byte"] for piece in pieces)

    assert [spo2 for _, spo2 in taken(FIVE, pieces)].count(98) >= whole - 2


@pytest.mark.parametrize("more", [4, 11, 30])
def test_a_device_that_sends_more_than_its_site_has_drawn_is_read(more: int) -> None:
    """Other bytes after each frame, always as many, and none that could begin one."""
    chance = random.Random(more)
    pieces = [
        GOOD["five-byte"] + bytes(chance.randrange(128) for _ in range(more)) for _ in range(300)
    ]

    assert len(taken(FIVE, pieces)) >= 298


def test_a_checksum_is_kept() -> None:
    """Where a layout has a checksum, a frame with one wrong bit is not a frame."""
    layout = FrameLayout.model_validate(
        FIVE.model_dump() | {"frame": (*FIVE.frame, "0 checksum:7")}
    )
    frame = GOOD["five-byte"]
    whole = frame + bytes([sum(frame) & 0x7F])

    assert [sample.spo2_percent for sample in decoded(layout, whole)] == [98]
    assert decoded(layout, whole[:4] + b"\x61" + whole[5:]) == []
    assert decoded(layout, layout.encode(98, 200, 64))[0].pulse_bpm == 200


def test_fixed_start_bytes_and_figures_over_two_bytes() -> None:
    """A frame may begin with whole fixed bytes, and a figure may be spread over two."""
    layout = FrameLayout.model_validate(
        {
            "line": {"baud": 115200},
            "frames_per_s": 10.0,
            "frame": ("10101010", "01010101", "spo2:8", "rate_low:8", "-:7 rate_top", "checksum:8"),
            "saturation": ("spo2",),
            "pulse_rate": ("rate_top", "rate_low"),
        }
    )
    frame = bytes([0xAA, 0x55, 97, 300 & 0xFF, 1])
    frame += bytes([sum(frame) & 0xFF])

    samples = decoded(layout, b"\xaa" + frame + b"\xaa\x55\x61" + frame)

    assert [(one.spo2_percent, one.pulse_bpm) for one in samples] == [(97, 300)] * 2


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"saturation": ("nothing",)}, "a name that frame draws"),
        ({"frame": ("1 pulse:7", "0 saturation:6")}, "eight bits"),
        ({"frame": ("1 pulse:7", "0 pulse:7")}, "one place only"),
        ({"frame": ("pulse:8", "saturation:8")}, "always 0 or 1"),
        ({"frame": ("1 Pulse:7", "0 saturation:7")}, "none of these"),
    ],
)
def test_a_drawing_that_makes_no_sense_is_refused(
    change: dict[str, object], complaint: str
) -> None:
    """A layout that cannot be read is refused, and the complaint says why."""
    plain = {
        "line": {"baud": 9600},
        "frames_per_s": 1.0,
        "frame": ("1 pulse:7", "0 saturation:7"),
        "saturation": ("saturation",),
        "pulse_rate": ("pulse",),
    }

    FrameLayout.model_validate(plain)
    with pytest.raises(ValidationError, match=complaint):
        FrameLayout.model_validate(plain | change)
