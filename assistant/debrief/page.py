"""A case as one page that holds all it needs: it opens without a network and without a script."""

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import asdict
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any

from assistant.debrief.beginning import up_to_the_airway
from assistant.debrief.definitions import OWN_WHERE_NONE, SCOPE
from assistant.debrief.drugs import drugs_of
from assistant.debrief.figures import addressees, figures
from assistant.debrief.findings import Measures
from assistant.debrief.lanes import NARROW, WIDE, unheard_at
from assistant.debrief.marks import tapped
from assistant.debrief.page_items import askings_by_person, left_open, not_come_to, overtaken
from assistant.debrief.page_list import LONG_ROWS, marks, said
from assistant.debrief.page_view import (
    at_a_glance,
    attempts,
    called,
    clocks,
    doses,
    expected,
    given,
    happened,
)
from assistant.debrief.ratings import Rating
from assistant.debrief.redaction import CASE
from assistant.debrief.report import CAUTION, NOTE, head
from assistant.debrief.timeline import Timeline
from assistant.debrief.times import short_time
from assistant.debrief.wall_times import UNTRUSTED, zone
from assistant.errors import BadInput
from assistant.files.named_files import write_whole

TEMPLATES = files("assistant.debrief") / "paper"
KINDS = (
    *(("assistant", "assistant"), ("team", "team"), ("talk", "room talk"), ("watcher", "watcher")),
    *(("clock", "clocks"), ("step", "what was decided"), ("facilitator", "facilitator")),
)
"""What the list of all that was said can be narrowed to."""


def check_page() -> None:
    """Raises BadInput when the libraries for pages are missing."""
    try:
        import jinja2
        import matplotlib as mpl  # noqa: F401 - only whether they are there
    except ImportError as fault:
        raise BadInput(
            "The libraries for a page are not installed; allowed: no --html, or installing the "
            "project with [debrief]."
        ) from fault
    del jinja2


def write_page(
    timeline: Timeline, measures: Measures, path: Path, ratings: Sequence[Rating] = ()
) -> None:
    """Write the report of a case as HTML.

    Raises BadInput when the file cannot be written or the libraries are missing.
    """
    check_page()
    rated = [asdict(one) | {"told": one.told()} for one in ratings]
    report = _report(timeline, measures) | {"ratings": rated}
    write_whole(path, render("report.html.j2", report=report).encode())


def render(template: str, **values: Any) -> str:
    """One of the templates, filled in; every value is escaped."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup, escape

    pages = Environment(
        loader=PackageLoader("assistant.debrief", "paper"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    pages.filters["coded"] = lambda text: Markup("").join(  # names of rows stand between backticks
        Markup("<code>{}</code>").format(part) if number % 2 else escape(part)
        for number, part in enumerate(text.split("`"))
    )
    css = (TEMPLATES / "report.css").read_text("utf-8")
    # Our own file, with nothing of a case in it.
    return pages.get_template(template).render(css=Markup(css), **values)  # noqa: S704


def picture(svg: bytes) -> str:
    """A drawing as an address that holds it: its own names cannot clash with the page's."""
    return f"data:image/svg+xml;base64,{b64encode(svg).decode()}"


def _report(timeline: Timeline, measures: Measures) -> dict[str, Any]:
    _, started, lasted, *notes = head(timeline, measures)
    listed = said(timeline)
    drugs = drugs_of(timeline, measures.taken_back)
    return {
        "case": "A case" if timeline.meta.case == CASE else f"Case {timeline.meta.case}",
        "site": timeline.meta.site,
        "started": f"{started}.",
        "lasted": f"{lasted}.",
        "notes": [one.removeprefix(NOTE) for one in notes],
        "happened": happened(timeline, measures),
        "glance": at_a_glance(measures),
        "drawings": _drawings(timeline, measures),
        "threshold": timeline.threshold_percent,
        "restarted": bool(timeline.restarts),
        "unheard": bool(unheard_at(measures)),
        "calls": called(timeline, measures),
        "attempts": attempts(measures),
        "clocks": clocks(measures),
        "doses": doses(drugs),
        "given": given(drugs),
        "groups": askings_by_person(timeline, measures),
        "left_open": left_open(timeline, measures),
        "never": not_come_to(timeline, measures),
        "overtaken": overtaken(timeline, measures),
        "addressees": [
            {
                "to": one.to,
                "opened": one.opened,
                "closed": one.closed,
                "at_first_asking": one.at_first_asking,
                "median": short_time(one.median_to_answer_s),
            }
            for one in addressees(measures.loops)
        ],
        "expected": expected(measures),
        "marks": marks(timeline),
        "tapped": tapped(timeline),
        "said": listed,
        "long": len(listed) > LONG_ROWS,
        "printed": sum(one["matters"] for one in listed),
        "zone": zone(timeline.entries),
        "undated": any(UNTRUSTED in one["wall"] for one in listed),
        "voices": any(one.voice for one in timeline.entries),
        "kinds": [{"id": kind, "name": name} for kind, name in KINDS],
        "figures": figures(measures),
        "scope": SCOPE,
        "own": OWN_WHERE_NONE,
        "caution": CAUTION,
        "version": version("spoken-brief"),
    }


def _drawings(timeline: Timeline, measures: Measures) -> list[dict[str, str]]:
    """The whole case; before it, of a long one, the part up to the airway."""
    if not timeline.entries:
        return []
    part = up_to_the_airway(timeline, measures)
    whole = _drawing(timeline, measures) | {"name": "The whole case" if part else ""}
    return [_drawing(*part) | {"name": "Up to the airway"}, whole] if part else [whole]


def _drawing(timeline: Timeline, measures: Measures) -> dict[str, str]:
    from assistant.debrief.drawing import draw

    lowest = measures.lowest_saturation
    least = "" if lowest is None else f", lowest saturation {lowest.spo2_percent} %"
    told = (
        f"Time-line of the case, with {len(measures.calls)} saturation calls{least}. "
        "All of it stands in words below."
    )
    shapes = {"wide": WIDE, "narrow": NARROW}
    return {name: picture(draw(timeline, measures, one)) for name, one in shapes.items()} | {
        "told": told
    }
