"""The comparison of several cases: a table, a page, JSON and comma-separated values."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from importlib.metadata import version
from pathlib import Path
from typing import Any, TextIO

from assistant.debrief.comparing import CaseFigures, Spread, actions_over, items_over, spreads
from assistant.debrief.definitions import DEFINITIONS, OWN_WHERE_NONE, SCOPE
from assistant.debrief.drawing import as_file
from assistant.debrief.page import check_page, picture, render
from assistant.debrief.report import CAUTION, minute
from assistant.debrief.tables import write_rows
from assistant.debrief.times import short_time
from assistant.files.named_files import write_whole

DRAWN = (
    *("brief_s", "loops_closed_percent", "closed_at_first_asking_percent", "median_to_answer_s"),
    *("drugs_to_tube_s", "attempts", "call_to_response_s", "low_s"),
)


def comparison_json(found: list[CaseFigures], refused: list[str]) -> dict[str, Any]:
    """All cases, each measure's spread, and each item over all of them."""
    return {
        "cases": [asdict(one) for one in found],
        "spreads": [asdict(one) | asdict(one.definition) for one in spreads(found)],
        "items": [asdict(one) for one in items_over(found)],
        "expected": [asdict(one) for one in actions_over(found)],
        "unread": refused,
    }


def comparison_csv(found: list[CaseFigures], out: TextIO) -> None:
    """One row a case, one column a measure."""
    rows = (
        (one.case, one.started_wall, one.site, *(one.values.get(name) for name in DEFINITIONS))
        for one in found
    )
    write_rows(("case", "started_wall", "site", *DEFINITIONS), rows, out)


def comparison_lines(found: list[CaseFigures], refused: list[str]) -> Iterator[str]:
    """The same for a terminal or a pipe."""
    yield "1 case" if len(found) == 1 else f"{len(found)} cases"
    yield from (f"Note: left out, because it cannot be read: {one}" for one in refused)
    yield ""
    heads = ("cases", "lowest", "lower ¼", "median", "upper ¼", "highest")
    yield f"{'measure':<44}{heads[0]:>6}" + "".join(f"{one:>10}" for one in heads[1:])
    for one in spreads(found):
        title = f"{one.definition.title}, {one.definition.unit}".rstrip(", ")
        yield f"{title:<44}{one.known:>6}" + "".join(f"{value:>10.1f}" for value in _five(one))
    yield ""
    yield f"{'item':<44}{'asked':>6}{'put off':>10}{'amiss':>10}{'to settle':>12}"
    for item in items_over(found):
        took = short_time(item.median_to_settling_s)
        yield f"{item.label:<44}{item.asked:>6}{item.put_off:>10}{item.amiss:>10}{took:>12}"
    yield ""
    expected = actions_over(found)
    if expected:
        columns = ("in time", "late", "no record", "took")
        yield f"{'expected action':<44}{'due':>6}" + "".join(f"{one:>10}" for one in columns)
        for action in expected:
            took = short_time(action.median_took_s)
            counts = (action.in_time, action.late, action.never, took)
            yield f"{action.action:<44}{action.due:>6}" + "".join(f"{n:>10}" for n in counts)
        yield ""
    yield SCOPE
    yield CAUTION


def write_comparison(found: list[CaseFigures], refused: list[str], path: Path) -> None:
    """Write it as one page. Raises BadInput when it cannot be written, or libraries are missing."""
    check_page()
    report = {
        "count": len(found),
        **_dates(found),
        "cases": [
            {"name": one.case, "started": minute(one.started_wall) if one.started_wall else ""}
            for one in found
        ],
        "rehearsals": sum(one.rehearsal for one in found),
        "refused": refused,
        "drawing": {
            name: picture(_drawn(found, width_in))
            for name, width_in in (("wide", 10.6), ("narrow", 4.3))
        }
        if len(found) > 1
        else None,
        "spreads": [
            {"definition": one.definition, "known": one.known, "five": _told(one)}
            for one in spreads(found)
        ],
        "by_item": [
            {
                "label": one.label,
                "asked": one.asked,
                "put_off": one.put_off or "",
                "amiss": one.amiss or "",
                "took": short_time(one.median_to_settling_s),
            }
            for one in items_over(found)
        ],
        "expected": [
            asdict(one)
            | {
                "late": one.late or "",
                "never": one.never or "",
                "took": short_time(one.median_took_s),
            }
            for one in actions_over(found)
        ],
        "scope": SCOPE,
        "own": OWN_WHERE_NONE,
        "caution": CAUTION,
        "version": version("spoken-brief"),
    }
    write_whole(path, render("comparison.html.j2", report=report).encode())


def _dates(found: Sequence[CaseFigures]) -> dict[str, Any]:
    """From when to when they were, by the clocks that can be trusted."""
    trusted = [one.started_wall[:10] for one in found if one.wall_trusted and one.started_wall]
    return {
        "first": trusted[0] if trusted else "",
        "last": trusted[-1] if trusted else "",
        "undated": sum(not one.wall_trusted for one in found),
    }


def _five(one: Spread) -> tuple[float, ...]:
    return one.lowest, one.lower_quarter, one.median, one.upper_quarter, one.highest


def _told(one: Spread) -> list[str]:
    unit = one.definition.unit
    if unit == "s":
        return [short_time(value) for value in _five(one)]
    return [f"{value:.3g} {unit}".rstrip() for value in _five(one)]


def _drawn(found: Sequence[CaseFigures], width_in: float) -> bytes:
    """Each measure over the cases in order: a dot a case, the median and the middle half."""
    import matplotlib as mpl
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    known = {one.name: one for one in spreads(list(found))}
    names = [name for name in DRAWN if name in known]
    if not names:
        return b'<svg xmlns="http://www.w3.org/2000/svg"/>'
    ink, wash, rule = "#26221d", "#e9e2d3", "#857c70"
    style: Any = {"font.size": 9, "font.family": "serif", "svg.fonttype": "none"}
    with mpl.rc_context(style | {"svg.hashsalt": "spoken-brief"}):
        figure = Figure(figsize=(width_in, 1.35 * len(names)), layout=ConstrainedLayoutEngine())
        figure.set_facecolor("#fffdf8")
        rows = figure.subplots(len(names), 1, sharex=True, squeeze=False)[:, 0]
        for axes, name in zip(rows, names, strict=True):
            one = known[name]
            axes.set_facecolor("#fffdf8")
            axes.axhspan(one.lower_quarter, one.upper_quarter, color=wash, lw=0)
            axes.axhline(one.median, color=rule, lw=1.2, ls=(0, (5, 3)))
            values = [case.values.get(name) for case in found]
            points = [(at, value) for at, value in enumerate(values, 1) if value is not None]
            axes.plot(*zip(*points, strict=True), "o", ms=4, mfc="#fffdf8", mec=ink, mew=1)
            unit = f", {one.definition.unit}" if one.definition.unit else ""
            axes.set_title(f"{one.definition.title}{unit}", loc="left", fontsize=9)
            axes.margins(y=0.2)
            axes.locator_params(axis="y", nbins=4)
            for side in ("top", "right"):
                axes.spines[side].set_visible(False)
        rows[-1].set_xlabel("cases in order")
        rows[-1].locator_params(axis="x", integer=True)
        return as_file(figure)
