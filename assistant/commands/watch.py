"""`spoken-brief watch`: the oximeter watcher alone, a process of its own."""

import argparse
from pathlib import Path
from typing import Any

from assistant.clock import MonotonicClock
from assistant.commands.options import add_site
from assistant.errors import BadInput
from assistant.oximeter.process import run_watcher
from assistant.oximeter.sources import open_feed
from assistant.site.site import load_site
from assistant.speaking.voices import open_voice


def add_to(commands: Any) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "watch",
        help="watch the oximeter and call the threshold",
        description="Reads the site's oximeter and calls the saturation once at each crossing of "
        "the site's threshold, whatever the conversation does. It is no monitor and has no alarm.",
    )
    parser.add_argument("--case", type=Path, required=True, metavar="DIR", help="the case's folder")
    parser.add_argument("--port", metavar="PORT", help="instead of the site's own serial port")
    parser.add_argument(
        "--ends-with", type=int, metavar="PID", help="end when this parent process does"
    )
    add_site(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Watch until told to end."""
    site = load_site(arguments.site)
    if not arguments.case.is_dir():
        raise BadInput.in_file(arguments.case, found="no such folder", allowed="a case's folder")
    run_watcher(
        arguments.case,
        site.oximeter,
        open_voice(site.wording.voice).render,
        open_feed(site.oximeter, MonotonicClock(), port=arguments.port),
        ends_with_parent_pid=arguments.ends_with,
    )
    return 0
