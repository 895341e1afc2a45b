"""`spoken-brief check`: read all of a site's files and its rehearsals."""

import argparse
from pathlib import Path
from typing import Any

from assistant.commands.options import add_site
from assistant.rehearsal.scenario import read_scenario
from assistant.site.site import load_site


def add_to(commands: Any) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "check",
        help="check a site's files",
        description="Reads a site's brief, formulary, oximeter and wording, and the rehearsals "
        "named, and says in one sentence what is wrong with the first that is.",
    )
    add_site(parser)
    parser.add_argument("scenarios", nargs="*", type=Path, metavar="SCENARIO")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Check, and count what there is."""
    site = load_site(arguments.site)
    for path in arguments.scenarios:
        read_scenario(path, site)
    items = list(site.brief.items())
    print(f"{site.brief.name}: {len(items)} items in {len(site.brief.sections)} sections")
    print(f"{site.formulary.name}: {len(site.formulary.drugs)} drugs")
    for figure in site.formulary.from_memory():
        print(f"From memory, check it: {figure}")
    print(f"Called: {site.oximeter.crossing.threshold_percent} % and below, once per fall")
    for path in arguments.scenarios:
        print(f"{path}: fits")
    return 0
