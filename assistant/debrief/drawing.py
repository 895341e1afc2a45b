"""A case in one drawing: lanes of what was said and what ran, above the saturation and the pulse.

Every lane has a shape of its own besides its colour, so that it can be read in grey. It is drawn
twice, for a page and for a phone: the one made small could not be read.
"""

import warnings
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from assistant.debrief.course import SATURATION_HOLDS_S
from assistant.debrief.findings import Measures
from assistant.debrief.lanes import (
    CLOCK,
    INK,
    PAPER,
    QUIET,
    WATCHER,
    WIDE,
    Shape,
    call_mark,
    key_of,
    lanes_of,
    numbered_calls,
    unheard_at,
    write_lanes,
)
from assistant.debrief.marks import marks_of
from assistant.debrief.timeline import Timeline
from assistant.files.named_files import write_whole
from assistant.patient.picture import check_picture

NOT_RECORDED = "no saturation was recorded"

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def draw_alone(timeline: Timeline, measures: Measures, path: Path) -> None:
    """The drawing as a file of its own; its ending says which kind: .svg, .png or .pdf.

    Raises BadInput when it cannot be written, or the library for pictures is missing.
    """
    check_picture(path)
    called = timeline.threshold_percent
    dashed = "" if called is None else f"; dashed: {called} %, which is called"
    title = f"{timeline.meta.site}, case {timeline.meta.case}{dashed}"
    write_whole(path, draw(timeline, measures, WIDE, path.suffix[1:], title))


def draw(
    timeline: Timeline, measures: Measures, shape: Shape, form: str = "svg", title: str = ""
) -> bytes:
    """The drawing in that form. Needs the library for pictures."""
    import matplotlib as mpl
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    lanes = lanes_of(timeline, measures)
    more = bool(marks_of(timeline)) + bool(measures.expected)
    high_in = shape.lane_in * (len(lanes) + 2 + more)
    pulse = any(one.pulse_bpm is not None for one in timeline.saturation)
    heights = [high_in, shape.curve_in, *([shape.curve_in * 0.55] if pulse else [])]
    style: Any = {
        "font.size": shape.font_pt,
        "font.family": "serif",
        "svg.fonttype": "none",  # letters: whoever shows them has fonts for more languages
        "svg.hashsalt": "spoken-brief",
        "text.parse_math": False,  # a dollar in a name is a dollar
        "hatch.linewidth": 0.6,
        "axes.facecolor": PAPER,
        "text.color": INK,
        "axes.edgecolor": QUIET,
        "axes.labelcolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
    }
    with mpl.rc_context(style):
        engine = ConstrainedLayoutEngine(h_pad=0.02, w_pad=0.02)
        figure = Figure(figsize=(shape.width_in, sum(heights) + 0.5), layout=engine)
        figure.set_facecolor(PAPER)
        axes = figure.subplots(len(heights), 1, sharex=True, height_ratios=heights)
        write_lanes(axes[0], lanes, timeline, measures, shape)
        _saturation(axes[1], timeline, measures)
        if pulse:
            _pulse(axes[2], timeline)
        for one in timeline.restarts:
            for each in axes:
                each.axvline(one.at_s, color=INK, lw=1.1, ls="-.", zorder=3)
        _times(axes, measures, shape, key_of(lanes, shape, measures.duration_s))
        if title:
            figure.suptitle(title, fontsize=shape.font_pt + 1)
        return as_file(figure, form)


def as_file(figure: "Figure", form: str = "svg") -> bytes:
    """A figure as the bytes of a file, without the time at which it was drawn."""
    dated = {"svg": "Date", "pdf": "CreationDate"}.get(form)
    made = BytesIO()
    with warnings.catch_warnings():
        # Only measured with that font, and never shown in it.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        metadata = {} if dated is None else {dated: None, "Creator": None}
        figure.savefig(made, format=form, dpi=150, metadata=metadata)
    return made.getvalue()


# The curves.


def _saturation(axes: "Axes", timeline: Timeline, measures: Measures) -> None:
    from matplotlib.ticker import MultipleLocator

    at_s, spo2 = _stepped([(one.at_s, one.spo2_percent) for one in timeline.saturation])
    axes.plot(at_s, spo2, color=INK, lw=1.7, drawstyle="steps-post", solid_capstyle="butt")
    known = [one.spo2_percent for one in timeline.saturation]
    threshold = timeline.threshold_percent
    known += [one.spo2_percent for one in measures.calls if one.spo2_percent is not None]
    lowest = min([*known, threshold or 100, 93])
    axes.set_ylim(5 * ((lowest - 2) // 5), 101)
    axes.yaxis.set_major_locator(MultipleLocator(5))
    if threshold is not None:
        axes.axhline(threshold, color=WATCHER, lw=1.0, ls=(0, (5, 3)))
    for begin, end in () if measures.watched is None else measures.watched.spans:
        axes.axvspan(begin, end, fc="none", ec=WATCHER, hatch="....", lw=0, alpha=0.55)
    unheard = unheard_at(measures)
    for number, one in numbered_calls(timeline):
        level = one.values.get("spo2_percent")
        if one.at_s is not None and level is not None:
            call_mark(axes, number, one.at_s, level, unheard=one.at_s in unheard)
    if not timeline.saturation:
        whole = axes.transAxes
        axes.text(0.5, 0.5, NOT_RECORDED, ha="center", va="center", transform=whole, color=QUIET)
    axes.set_ylabel("SpO2, %")
    _plain(axes)


def _pulse(axes: "Axes", timeline: Timeline) -> None:
    at_s, pulse = _stepped([(one.at_s, one.pulse_bpm) for one in timeline.saturation])
    axes.plot(at_s, pulse, color=CLOCK, lw=1.3, ls=(0, (4, 1)), drawstyle="steps-post")
    axes.set_ylabel("pulse, 1/min")
    axes.margins(y=0.25)
    axes.locator_params(axis="y", nbins=3, integer=True)
    _plain(axes)


def _stepped(samples: Sequence[tuple[float, int | None]]) -> tuple[list[float], list[float]]:
    """Each sample holds until the next one; where none follows for too long there is a gap."""
    at_s: list[float] = []
    values: list[float] = []
    for number, (begin_s, value) in enumerate(samples):
        at_s.append(begin_s)
        values.append(float("nan") if value is None else value)
        next_s = samples[number + 1][0] if number + 1 < len(samples) else float("inf")
        if next_s - begin_s > SATURATION_HOLDS_S:
            at_s += [begin_s + SATURATION_HOLDS_S] * 2
            values += [values[-1], float("nan")]
    return at_s, values


def _plain(axes: "Axes") -> None:
    axes.grid(visible=True, axis="y", color="#e6dfd1", lw=0.7)
    axes.set_axisbelow(True)
    for name, side in axes.spines.items():
        side.set_visible(name in ("left", "bottom"))


def _times(axes: Sequence["Axes"], measures: Measures, shape: Shape, key: str) -> None:
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    whole_s = max(measures.duration_s, 10.0)
    steps = (10, 30, 60, 120, 300, 600, 1800, 3600, 7200, 14400)
    step_s = next((one for one in steps if whole_s / one <= shape.ticks), steps[-1])
    last = axes[-1]
    last.set_xlim(-0.005 * whole_s, whole_s * 1.01)
    last.xaxis.set_major_locator(MultipleLocator(step_s))
    last.xaxis.set_major_formatter(
        FuncFormatter(lambda at_s, _: f"{int(at_s // 60)}:{int(at_s % 60):02d}")
    )
    told = ["minutes and seconds from the beginning"]
    told += wrap(f"Course: {key}", round(shape.width_in * 13)) if key else []
    last.set_xlabel("\n".join(told))
    for one in axes:
        one.grid(visible=True, axis="x", color="#e6dfd1", lw=0.6)
        one.set_axisbelow(True)
