"""`spoken-brief debrief`: the report of a case."""

import argparse
import json
import sys
from pathlib import Path

from assistant.debrief.measures import measure
from assistant.debrief.page import check_page, write_page
from assistant.debrief.report import as_json, write_report
from assistant.debrief.timeline import read_timeline
from assistant.journal.folder import default_cases

DESCRIPTION = (
    "Merges the record of the conversation with the watcher's own, and measures "
    "what can be measured. It is an aid to the team's memory, not a medical record."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    parser.add_argument(
        "case",
        type=Path,
        metavar="CASE",
        help="a case's folder, or the name of one in your own data folder",
    )
    parser.add_argument("--json", action="store_true", help="all of it as one JSON object")
    parser.add_argument(
        "--html", type=Path, metavar="FILE", help="as one page with a drawing, to read and to print"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the report."""
    if arguments.html is not None:
        check_page()
    case: Path = arguments.case
    if not case.exists() and (default_cases() / case).is_dir():
        case = default_cases() / case
    timeline = read_timeline(case)
    measures = measure(timeline)
    if arguments.html is not None:
        write_page(timeline, measures, arguments.html)
        print(f"Written: {arguments.html}")
    elif arguments.json:
        print(json.dumps(as_json(timeline, measures), ensure_ascii=False, indent=1))
    else:
        write_report(timeline, measures, sys.stdout)
    return 0
