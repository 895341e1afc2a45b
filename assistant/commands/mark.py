"""`spoken-brief mark`: a facilitator's marks in a case that is going on, from a second terminal."""

import argparse
from pathlib import Path

from assistant.commands.keys import END, key_within, one_key_at_a_time
from assistant.commands.options import add_cases, named_case_or_last
from assistant.journal.facilitator import KINDS, MARK, FacilitatorRecord

DESCRIPTION = (
    "Marks this moment of a case in progress, for its debrief. With a text or a kind it makes one "
    "mark; without either, each key makes one, until q. A facilitator's marks are kept beside the "
    "record of the conversation and cannot change it."
)
KEYS = {"m": MARK, "o": "call-out", "b": "check-back", "c": "closed"}
"""A key a kind; the last three are the steps of a loop between people."""
LOOK_EVERY_S = 1.0


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    parser.add_argument(
        "case",
        type=Path,
        metavar="CASE",
        help="a case's folder, or its name among the cases; `current` is the one that is open, "
        "`last` the newest, which takes no mark once it has ended",
    )
    parser.add_argument("text", nargs="?", metavar="TEXT", help="what to remember of this moment")
    parser.add_argument(
        "--kind", choices=KINDS, help="what was seen (default: a moment to come back to)"
    )
    add_cases(parser)


def run(arguments: argparse.Namespace) -> int:
    """Write one mark, or one for each key."""
    record = FacilitatorRecord(named_case_or_last(arguments.cases, arguments.case))
    if arguments.text is None and arguments.kind is None:
        _by_keys(record)
        return 0
    kind, text = arguments.kind or MARK, arguments.text or ""
    record.add(kind, text)
    named = "" if kind == MARK else f" as {kind}"
    print(f"Marked{named}: {text}" if text else f"Marked{named or ': this moment'}.")
    return 0


def _by_keys(record: FacilitatorRecord) -> None:
    keys = "  ".join(f"{key} {kind}" for key, kind in KEYS.items())
    with one_key_at_a_time():
        print(f"{record.case.name}\n{keys}  q end", flush=True)
        while not record.is_over():
            key = key_within(LOOK_EVERY_S)
            if key in END:
                return
            if key in KEYS and not record.is_over():
                record.add(KEYS[key], "")
                print(KEYS[key], flush=True)
    print("The case has ended.")
