"""The command line: `spoken-brief COMMAND`.

Exit codes: 0 done; 1 it did not end as expected; 2 bad input, said in one sentence.
"""

import argparse
import sys
from collections.abc import Sequence

from assistant.commands import (
    card,
    check,
    debrief,
    devices,
    dose,
    glance,
    hear,
    listen,
    models,
    patient,
    rehearse,
    watch,
)
from assistant.errors import BadInput

_CAUTION = (
    "Not a medical device and not a monitor's alarm: local protocol and the licensed clinician "
    "decide, and every dose is checked against the label in hand."
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    parser = argparse.ArgumentParser(
        prog="spoken-brief",
        description="A spoken caller for the minutes around an emergency intubation.",
        epilog=_CAUTION,
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    room = (rehearse, listen, hear, watch, glance)
    paper = (check, dose, card, debrief)
    for command in (*room, *paper, models, devices, patient):
        command.add_to(commands)
    for each in commands.choices.values():
        each.epilog = _CAUTION
    arguments = parser.parse_args(argv)
    try:
        return int(arguments.run(arguments))
    except BadInput as fault:
        print(f"spoken-brief: {fault}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130
