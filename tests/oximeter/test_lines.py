"""Lines of text to samples: by a regular expression, and by columns."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from assistant.files.yaml_files import read_yaml
from assistant.oximeter.lines import TextLayout
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import OximeterSettings

SETTINGS = read_yaml(
    Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
)
LAYOUTS = {
    name: layout for name, layout in SETTINGS.layouts.items() if isinstance(layout, TextLayout)
}
PLAIN = {
    "kind": "text",
    "line": {"baud": 9600},
    "pattern": r"(?P<spo2>[\d.]+) (?P<pulse>\d+)",
    "example": "98 72",
}


def read(name: str, text: str) -> list[Sample]:
    return list(LAYOUTS[name].decoder().take(text.encode(), 0.0))


@pytest.mark.parametrize(
    ("name", "line", "spo2", "pulse", "why"),
    [
        # The form of the line is common practice, from memory; no source.
        ("text-line", "12:04:31, SpO2=098%, PR=072BPM", 98, 72, ""),
        ("text-line", "SpO2=100, PR=200", 100, 200, ""),
        ("text-line", "SpO2=---%, PR=---BPM", None, None, "no saturation, no pulse rate"),
        ("text-line", "SpO2=098%, PR=072 PROBE OFF", 98, 72, "no finger"),
        ("text-line", "SpO2=098%, PR=072 LOW PERF", 98, 72, "low perfusion"),
        ("columns", "12:04:31,97.4,57", 97, 57, ""),
        ("columns", "12:04:31,93.5,57,anything", 93, 57, ""),  # a half is rounded downwards
        ("columns", "12:04:31,93.6,57", 94, 57, ""),
        ("columns", "12:04:31,0,0", None, None, "no saturation, no pulse rate"),
        ("columns", "12:04:31,,57", None, 57, "no saturation"),
        ("columns", "12:04:31,nan,57", None, 57, "no saturation"),
        ("columns", "12:04:31,101,57", None, 57, "no saturation"),
    ],
)
def test_a_line(name: str, line: str, spo2: int | None, pulse: int | None, why: str) -> None:
    """Each line gives its figures, and what stands against them."""
    (sample,) = read(name, f"{line}\r\n")

    assert (sample.spo2_percent, sample.pulse_bpm, sample.why) == (spo2, pulse, why)
    assert sample.usable == (why in ("", "low perfusion"))


def test_headings_and_torn_lines_are_no_samples() -> None:
    """A heading, a line without figures and one that is too long are passed over."""
    decoder = LAYOUTS["columns"].decoder()

    samples = decoder.take(b"Time\nMODEL X\n" + b"9" * 5000 + b"\n10:00,97,70\n10:01,9", 1.0)
    samples += decoder.take(b"6,71\n", 2.0)

    assert [(one.at_s, one.spo2_percent) for one in samples] == [(1.0, 97), (2.0, 96)]


@pytest.mark.parametrize("name", list(LAYOUTS))
@given(data=st.binary(max_size=300))
def test_any_bytes_never_give_an_impossible_saturation(name: str, data: bytes) -> None:
    """Whatever the line carries, a saturation lies within 0 and 100 or is none."""
    decoder = LAYOUTS[name].decoder()
    for sample in decoder.take(data + b"\n,98,72\nSpO2=9999,PR=1\n", 0.0):
        assert sample.spo2_percent is None or 0 <= sample.spo2_percent <= 100
        assert sample.usable <= (sample.spo2_percent is not None)


@pytest.mark.parametrize("name", list(LAYOUTS))
@given(
    data=st.binary(max_size=80), cuts=st.lists(st.integers(min_value=0, max_value=200), max_size=8)
)
def test_resynchronises_at_the_next_line(name: str, data: bytes, cuts: list[int]) -> None:
    """After any garbage, cut anywhere, at most one line is lost and all others are read."""
    layout = LAYOUTS[name]
    sent = data + layout.encode(98, 72) * 4
    edges = [0, *sorted(min(cut, len(sent)) for cut in cuts), len(sent)]
    decoder = layout.decoder()

    samples = [one for a, b in pairwise(edges) for one in decoder.take(sent[a:b], 0.0)]

    assert samples[-3:] == [Sample(0.0, 98, 72, usable=True)] * 3


def test_a_line_that_never_ends_keeps_nothing() -> None:
    """A flood without a line's end does not pile up."""
    decoder = LAYOUTS["columns"].decoder()
    for _ in range(100):
        assert decoder.take(b"9" * 2000, 0.0) == ()

    assert [one.spo2_percent for one in decoder.take(b"10:00,97,70\n", 1.0)] == [97]


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"pattern": "(?P<spo2>"}, "a regular expression"),
        ({"pattern": r"(?P<spo2>\d+)"}, "groups"),
        ({"example": "nothing at all"}, "it gives: no sample"),
        ({"example": "180 72"}, "it gives: no saturation"),
        ({"columns": {"saturation": 1, "pulse_rate": 2}}, "either a pattern or columns"),
        ({"pattern": None, "columns": {"saturation": 2, "pulse_rate": 2}}, "different columns"),
    ],
)
def test_a_layout_that_cannot_read_its_example_is_refused(
    change: dict[str, object], complaint: str
) -> None:
    """A site's mistake in a pattern shows when its file is read, not at the bedside."""
    TextLayout.model_validate(PLAIN)
    with pytest.raises(ValidationError, match=complaint):
        TextLayout.model_validate(PLAIN | change)
