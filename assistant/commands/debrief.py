"""`spoken-brief debrief`: the report of a case, or of all of them."""

import argparse
import json
import sys
from contextlib import suppress
from pathlib import Path

from assistant.commands.options import named_case
from assistant.debrief.aloud import sentences
from assistant.debrief.comparing import all_cases
from assistant.debrief.comparison import (
    comparison_csv,
    comparison_json,
    comparison_lines,
    write_comparison,
)
from assistant.debrief.drawing import draw_alone
from assistant.debrief.findings import Measures
from assistant.debrief.following import follow
from assistant.debrief.page import check_page, write_page
from assistant.debrief.parquet import check_parquet, write_parquet
from assistant.debrief.ratings import Rating, read_ratings, without_people
from assistant.debrief.reading import ScenarioFile, read_measured
from assistant.debrief.report import as_json, told_line, write_report
from assistant.debrief.tables import write_entries
from assistant.debrief.timeline import Timeline
from assistant.debrief.verifying import altered_told, verify_case
from assistant.errors import BadInput
from assistant.journal.folder import default_cases
from assistant.patient.picture import check_picture

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
        nargs="?",
        help="a case's folder, or the name of one in your own data folder; with --all a folder of "
        "cases (default: your own)",
    )
    how = parser.add_mutually_exclusive_group()
    how.add_argument("--json", action="store_true", help="all of it as one JSON object")
    how.add_argument("--csv", action="store_true", help="as comma-separated values, a row an entry")
    how.add_argument("--aloud", action="store_true", help="a few sentences to read aloud")
    how.add_argument(
        "--html", type=Path, metavar="FILE", help="as one page with a drawing, to read and to print"
    )
    how.add_argument(
        "--plot", type=Path, metavar="FILE", help="its drawing alone: a .svg, .png or .pdf"
    )
    how.add_argument(
        "--parquet",
        type=Path,
        metavar="FILE",
        help="with --all: a row a case and a column a measure, as a Parquet file",
    )
    how.add_argument(
        "--follow",
        action="store_true",
        help="each thing as it comes, in a case that is going on; changes nothing about it",
    )
    how.add_argument(
        "--verify",
        action="store_true",
        help="whether anything on record was altered, dropped or put elsewhere; ends with 1 if so",
    )
    parser.add_argument(
        "--ratings",
        type=Path,
        metavar="FILE",
        help="a rating sheet to show with it: comma-separated values under the columns what, "
        "score, of and perhaps remark, rater",
    )
    parser.add_argument(
        "--scenario",
        type=Path,
        metavar="FILE",
        help="score what a simulation's scenario expects of the team, and by when",
    )
    parser.add_argument(
        "--redact",
        action="store_true",
        help="without people, place and dates, to be shown to others",
    )
    parser.add_argument(
        "--all", action="store_true", help="compare all cases of a folder: medians, spread, items"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the report."""
    if arguments.html is not None:
        check_page()
    if arguments.plot is not None:
        check_picture(arguments.plot)
    if arguments.parquet is not None:
        if not arguments.all:
            raise BadInput("debrief: found --parquet with one case; allowed: with --all.")
        check_parquet()
    ratings, scenario = _ratings(arguments), _scenario(arguments)
    if arguments.all:
        return _compare(arguments, scenario)
    if arguments.case is None:
        raise BadInput("debrief: found no case; allowed: a case's folder, or --all.")
    case = named_case(default_cases(), arguments.case)
    if arguments.verify:
        return _verify(case)
    if arguments.redact:
        ratings = without_people(ratings)
    with altered_told(case):
        if arguments.follow:
            return _follow(case, redact=arguments.redact)
        timeline, measures = read_measured(case, scenario, redact=arguments.redact)
        _write(arguments, timeline, measures, ratings)
    return 0


def _scenario(arguments: argparse.Namespace) -> ScenarioFile | None:
    if arguments.scenario is None:
        return None
    if arguments.follow or arguments.verify:
        raise BadInput("debrief: found --scenario with --follow or --verify; allowed: without.")
    return ScenarioFile.read(arguments.scenario)


def _ratings(arguments: argparse.Namespace) -> tuple[Rating, ...]:
    if arguments.ratings is None:
        return ()
    own = arguments
    if own.all or own.csv or own.aloud or own.follow or own.verify or own.plot is not None:
        raise BadInput(
            "debrief: found --ratings with what shows none; allowed: the table, --html, --json."
        )
    return read_ratings(arguments.ratings)


def _write(
    arguments: argparse.Namespace,
    timeline: Timeline,
    measures: Measures,
    ratings: tuple[Rating, ...],
) -> None:
    if arguments.html is not None:
        write_page(timeline, measures, arguments.html, ratings)
        print(f"Written: {arguments.html}")
    elif arguments.plot is not None:
        draw_alone(timeline, measures, arguments.plot)
        print(f"Drawn: {arguments.plot}")
    elif arguments.json:
        print(json.dumps(as_json(timeline, measures, ratings), ensure_ascii=False, indent=1))
    elif arguments.csv:
        write_entries(timeline, sys.stdout, measures.expected)
    elif arguments.aloud:
        print("\n".join(sentences(timeline, measures)))
    else:
        write_report(timeline, measures, sys.stdout, ratings)


def _follow(case: Path, *, redact: bool) -> int:
    if redact:
        raise BadInput("debrief: found --follow with --redact; allowed: one of them.")
    with suppress(KeyboardInterrupt):
        for entry in follow(case):
            print(told_line(entry), flush=True)
    return 0


def _verify(case: Path) -> int:
    found = verify_case(case)
    for line in (*found.faults, *found.told):
        print(line)
    if not found.faults:
        there = "" if found.watched else " of what is there"
        what = f"Nothing{there}" if found.vouched else f"Nothing{there} that is chained"
        print(f"{what} was altered, dropped or put elsewhere since it was written.")
    return 1 if found.faults else 0


def _compare(arguments: argparse.Namespace, scenario: ScenarioFile | None) -> int:
    if arguments.aloud or arguments.follow or arguments.verify or arguments.plot is not None:
        raise BadInput(
            "debrief: found --all with one case's option; "
            "allowed: --html, --csv, --json, --parquet."
        )
    refused: list[str] = []
    cases = default_cases() if arguments.case is None else arguments.case
    found = list(all_cases(cases, refused, scenario, redact=arguments.redact))
    if arguments.html is not None:
        write_comparison(found, refused, arguments.html)
        print(f"Written: {arguments.html}")
    elif arguments.parquet is not None:
        write_parquet(found, arguments.parquet)
        print(
            "\n".join([*(f"Left out: {one}" for one in refused), f"Written: {arguments.parquet}"])
        )
    elif arguments.json:
        print(json.dumps(comparison_json(found, refused), ensure_ascii=False, indent=1))
    elif arguments.csv:
        comparison_csv(found, sys.stdout)
    else:
        print("\n".join(comparison_lines(found, refused)))
    return 0
