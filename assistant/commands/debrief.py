"""`spoken-brief debrief`: the report of a case, or of all of them."""

import argparse
import json
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

from assistant.commands.options import named_case_or_last
from assistant.debrief.aloud import sentences
from assistant.debrief.comparing import CaseFigures, all_cases
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


class OneCase(NamedTuple):
    """A case as it was read."""

    timeline: Timeline
    measures: Measures
    ratings: Sequence[Rating]


class AllCases(NamedTuple):
    """The cases of a folder."""

    found: list[CaseFigures]
    refused: list[str]
    """Why others of them cannot be read."""


@dataclass(frozen=True, slots=True)
class Form:
    """One form of the debrief: an option of its name, and who makes it of what."""

    help: str
    of_one: Callable[[OneCase, Path], None] | None = None
    of_all: Callable[[AllCases, Path], None] | None = None
    of_folder: Callable[[Path], int] | None = None
    """Of a case that is not measured for it; returns the exit code."""
    check: Callable[[Path], None] | None = None
    """Of one that is a file: whether it can be made. Raises BadInput."""
    shows_ratings: bool = False


def _print_json(told: Any) -> None:
    print(json.dumps(told, ensure_ascii=False, indent=1))


def _page(case: OneCase, path: Path) -> None:
    write_page(case.timeline, case.measures, path, case.ratings)
    print(f"Written: {path}")


def _page_of_all(cases: AllCases, path: Path) -> None:
    write_comparison(cases.found, cases.refused, path)
    print(f"Written: {path}")


def _drawing(case: OneCase, path: Path) -> None:
    draw_alone(case.timeline, case.measures, path)
    print(f"Drawn: {path}")


def _parquet(cases: AllCases, path: Path) -> None:
    write_parquet(cases.found, path)
    print(*(f"Left out: {one}" for one in cases.refused), f"Written: {path}", sep="\n")


def _follow(case: Path) -> int:
    with altered_told(case), suppress(KeyboardInterrupt):
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


TABLE = Form(
    "",
    lambda case, _: write_report(case.timeline, case.measures, sys.stdout, case.ratings),
    lambda cases, _: print("\n".join(comparison_lines(*cases))),
    shows_ratings=True,
)
"""Without an option."""
FORMS: Mapping[str, Form] = {
    "json": Form(
        "everything, as one JSON object",
        lambda case, _: _print_json(as_json(*case)),
        lambda cases, _: _print_json(comparison_json(*cases)),
        shows_ratings=True,
    ),
    "csv": Form(
        "as comma-separated values, a row for each entry",
        lambda case, _: write_entries(case.timeline, sys.stdout, case.measures.expected),
        lambda cases, _: comparison_csv(cases.found, sys.stdout),
    ),
    "aloud": Form(
        "a few sentences to read aloud",
        lambda case, _: print("\n".join(sentences(case.timeline, case.measures))),
    ),
    "html": Form(
        "as one page with a drawing, to read and to print",
        _page,
        _page_of_all,
        check=lambda _: check_page(),
        shows_ratings=True,
    ),
    "plot": Form("its drawing alone, as .svg, .png or .pdf", _drawing, check=check_picture),
    "parquet": Form(
        "with --all: one row for each case, one column for each measure, as a Parquet file",
        of_all=_parquet,
        check=lambda _: check_parquet(),
    ),
    "follow": Form(
        "each entry as it comes, in a case in progress, which this does not change",
        of_folder=_follow,
    ),
    "verify": Form(
        "whether anything on record was altered, dropped or moved; ends with 1 if so",
        of_folder=_verify,
    ),
}


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    parser.add_argument(
        "case",
        type=Path,
        metavar="CASE",
        nargs="?",
        help="a case's folder, the name of one among your own cases, `current`, the one that is "
        "open, or `last`, the newest, open or ended; with --all a folder of cases (default: your "
        "own)",
    )
    how = parser.add_mutually_exclusive_group()
    for name, form in FORMS.items():
        if form.check is None:
            how.add_argument(f"--{name}", action="store_true", help=form.help)
        else:
            how.add_argument(f"--{name}", type=Path, metavar="FILE", help=form.help)
    parser.add_argument(
        "--ratings",
        type=Path,
        metavar="FILE",
        help="a rating sheet to show with it: comma-separated values in the columns what, score, "
        "of and, if wanted, remark and rater",
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
        help="leave out people, place and dates, for showing to others",
    )
    parser.add_argument(
        "--all", action="store_true", help="compare all cases of a folder: medians, spread, items"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the report."""
    chosen = next((name for name in FORMS if getattr(arguments, name)), None)
    form = TABLE if chosen is None else FORMS[chosen]
    path = Path() if form.check is None or chosen is None else getattr(arguments, chosen)
    _refuse_at_odds(arguments, chosen, form)
    if form.check is not None:
        form.check(path)
    ratings = () if arguments.ratings is None else read_ratings(arguments.ratings)
    scenario = None if arguments.scenario is None else ScenarioFile.read(arguments.scenario)
    if form.of_all is not None and arguments.all:
        refused: list[str] = []
        cases = default_cases() if arguments.case is None else arguments.case
        found = list(all_cases(cases, refused, scenario, redact=arguments.redact))
        form.of_all(AllCases(found, refused), path)
        return 0
    if arguments.case is None:
        raise BadInput("debrief: found no case; allowed: a case's folder, or --all.")
    case = named_case_or_last(default_cases(), arguments.case)
    if form.of_folder is not None:
        return form.of_folder(case)
    if form.of_one is not None:
        ratings = without_people(ratings) if arguments.redact else ratings
        with altered_told(case):
            read = read_measured(case, scenario, redact=arguments.redact)
            form.of_one(OneCase(*read, ratings), path)
    return 0


def _refuse_at_odds(arguments: argparse.Namespace, chosen: str | None, form: Form) -> None:
    """Raises BadInput for options that make no sense together."""
    if arguments.all and form.of_all is None:
        several = ", ".join(f"--{name}" for name, one in FORMS.items() if one.of_all is not None)
        raise BadInput(f"debrief: found --all with one case's option; allowed: {several}.")
    if not arguments.all and form.of_one is None and form.of_folder is None:
        raise BadInput(f"debrief: found --{chosen} with one case; allowed: with --all.")
    if arguments.ratings is not None and (arguments.all or not form.shows_ratings):
        raise BadInput(
            "debrief: found --ratings with what shows none; allowed: the table, --html, --json."
        )
    if arguments.scenario is not None and form.of_folder is not None:
        raise BadInput("debrief: found --scenario with --follow or --verify; allowed: without.")
    if arguments.redact and chosen == "follow":
        raise BadInput("debrief: found --follow with --redact; allowed: one of them.")
