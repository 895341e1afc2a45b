"""A lesson as a picture: the saturation over time, with the calls, and what was done meanwhile."""

from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Any

from assistant.errors import BadInput
from assistant.patient.lesson import Lesson, LessonPhase, SaidCall

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BLOOD, SHOWN, CALL, LEVEL = "#9a9a9a", "#1f4e79", "#a63603", "#555555"
AIR, OXYGEN, BAG, STILL, ODD = "#ececec", "#cfe0ec", "#c9d8c4", "#e5cfc4", "#d9d3e3"
STATES = {
    "breathes air": AIR,
    "breathes oxygen": OXYGEN,
    "deep breaths": OXYGEN,
    "bagged": BAG,
    "apnoea": STILL,
    "apnoea, oxygen follows": STILL,
    "apnoea, airway shut": STILL,
}
"""The ground of each stretch of breathing: one colour means one state, apnoea is always the same. A
stretch of the oximeter's is out of the ordinary, and has the last colour."""
LEGEND = {"air": AIR, "oxygen": OXYGEN, "apnoea": STILL, "bagged": BAG}
CAUTION = "A simulated patient, for teaching: it predicts nothing for a real one."
LOWEST_PERCENT = 50
ENDINGS = (".png", ".svg", ".pdf")


def check_picture(path: Path) -> None:
    """Raises BadInput when the library for pictures is missing, or such a file cannot be drawn."""
    if path.suffix not in ENDINGS:
        raise BadInput.in_file(
            path, found=repr(path.suffix), allowed=f"a file ending in {', '.join(ENDINGS)}"
        )
    try:
        import matplotlib as mpl  # noqa: F401 - only whether it is there
    except ImportError as fault:
        raise BadInput(
            "The library for pictures is not installed; allowed: no --plot, or installing the "
            "project with [plot]."
        ) from fault


def draw(lesson: Lesson, title: str, threshold_percent: int, path: Path) -> None:
    """Draw a lesson to a file; its ending says which kind.

    Raises BadInput when the file cannot be written.
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    rows = 2 if lesson.oximeter else 1
    style: Any = {"font.size": 10, "svg.hashsalt": "spoken-brief", "text.parse_math": False}
    with mpl.rc_context(style):
        engine = ConstrainedLayoutEngine(rect=(0, 0.03, 1, 0.97))  # room for the caution
        figure = Figure(figsize=(13, 5.8 + 0.4 * rows), layout=engine)
        grid = figure.add_gridspec(
            1 + rows, 2, height_ratios=[12] + [1] * rows, width_ratios=[10, 3.4]
        )
        first = figure.add_subplot(grid[0, 0])
        axes = [first, *(figure.add_subplot(grid[n + 1, 0], sharex=first) for n in range(rows))]
        _saturation(first, lesson, threshold_percent)
        first.tick_params(axis="x", labelbottom=False)
        _listing(figure.add_subplot(grid[:, 1]), lesson)
        _strip(axes[1], lesson.breathing, "patient")
        if lesson.oximeter:
            _strip(axes[2], lesson.oximeter, "oximeter")
            axes[1].tick_params(axis="x", labelbottom=False)
        axes[-1].set_xlabel("minutes")
        axes[-1].set_xlim(0, lesson.at_s[-1] / 60)
        figure.suptitle(title, fontsize=13)
        _legend(figure)
        figure.text(0.995, 0.005, CAUTION, ha="right", va="bottom", fontsize=8, color=LEVEL)
        try:
            figure.savefig(path, dpi=130)
        except OSError as fault:
            raise BadInput.in_file(
                path, found=fault.strerror or "a fault", allowed="a file that can be written"
            ) from fault


def _saturation(axes: "Axes", lesson: Lesson, threshold_percent: int) -> None:
    from matplotlib.ticker import MultipleLocator

    minutes = [at_s / 60 for at_s in lesson.at_s]
    shown = [float("nan") if one is None else one for one in lesson.shown_percent]
    axes.plot(minutes, lesson.blood_percent, color=BLOOD, lw=1.2, label="in the arteries")
    axes.plot(minutes, shown, color=SHOWN, lw=2.2, label="shown by the oximeter")
    seen = [*lesson.blood_percent, *(one for one in lesson.shown_percent if one is not None)]
    lowest = max(LOWEST_PERCENT, 5 * int((min([*seen, threshold_percent]) - 8) // 5))
    axes.set_ylim(lowest, 101)
    axes.axhline(threshold_percent, color=LEVEL, ls="--", lw=1)
    axes.annotate(
        f"threshold {threshold_percent} %",
        (1, threshold_percent),
        xycoords=("axes fraction", "data"),
        xytext=(-4, -4),
        textcoords="offset points",
        ha="right",
        va="top",
        color=LEVEL,
    )
    for number, call in enumerate(lesson.calls, start=1):
        _call(axes, number, call, lowest)
    axes.yaxis.set_major_locator(MultipleLocator(5))
    axes.set_ylabel("oxygen saturation, %")
    axes.grid(visible=True, color="#eeeeee")
    axes.set_axisbelow(True)
    axes.legend(loc="lower left", frameon=False)


def _call(axes: "Axes", number: int, call: SaidCall, lowest: int) -> None:
    """Its number at the level that was called, or at the bottom where there was none."""
    minute, level = call.at_s / 60, call.level_percent or lowest
    axes.plot([minute, minute], [lowest, level], color=CALL, lw=0.8, alpha=0.5)
    axes.annotate(
        str(number),
        (minute, level),
        xytext=(0, 0 if call.level_percent else 10),
        textcoords="offset points",
        ha="center",
        va="center",
        color="white",
        fontsize=8,
        bbox={"boxstyle": "circle,pad=0.25", "fc": CALL, "ec": "white"},
        zorder=6,
    )


def _listing(axes: "Axes", lesson: Lesson) -> None:
    """Beside the curve: every call in its words, and every phase, with their times."""
    axes.set_axis_off()
    lines = ["Called"]
    for number, call in enumerate(lesson.calls, start=1):
        words = fill(call.text, 38, subsequent_indent=" " * 14)
        lines.append(f"{number:3d}  {_clock(call.at_s)}   {words}")
    for name, phases in (("Patient", lesson.breathing), ("Oximeter", lesson.oximeter)):
        if phases:
            lines += ["", name, *(f"     {_clock(one.from_s)}   {one.name}" for one in phases)]
    if not lesson.calls:
        lines.insert(1, "     nothing")
    axes.text(0, 1, "\n".join(lines), va="top", linespacing=1.4, fontsize=9.5)


def _clock(at_s: float) -> str:
    return f"{int(at_s // 60):2d}:{int(at_s % 60):02d}"


def _legend(figure: "Figure") -> None:
    """What the grounds of the strip mean, for stretches too short for their name."""
    from matplotlib.patches import Patch

    figure.legend(
        handles=[Patch(color=ground, label=state) for state, ground in LEGEND.items()],
        loc="lower left",
        ncols=len(LEGEND),
        frameon=False,
        fontsize=8,
    )


def _strip(axes: "Axes", phases: list[LessonPhase], name: str) -> None:
    """Stretches of time, each with its name when there is room for it."""
    axes.set_yticks([])
    axes.set_ylim(0, 1)
    axes.set_ylabel(name, rotation=0, ha="right", va="center")
    axes.tick_params(axis="x", length=0)
    whole_s = max(phase.to_s for phase in phases)
    for phase in phases:
        ground = STATES.get(phase.name, ODD)
        axes.axvspan(phase.from_s / 60, phase.to_s / 60, color=ground, ec="white", lw=0.5)
        if phase.to_s - phase.from_s > whole_s * len(phase.name) / 90:
            middle = (phase.from_s + phase.to_s) / 120
            axes.text(middle, 0.5, phase.name, ha="center", va="center")
