"""The command line: `spoken-brief COMMAND`.

Exit codes: 0 done; 1 it did not end as expected; 2 bad input, said in a sentence for each thing;
70 a fault of the program itself, the only one with a traceback; 74 the machine failed it, such as a
full disk, said in one sentence; 130 interrupted.

A command's module is imported only when that command is given: the watcher does without the
recogniser, and goes on calling where the recogniser cannot even be imported.
"""

import argparse
import errno
import os
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from io import TextIOWrapper
from pathlib import Path

from assistant.errors import BadInput

COMMANDS = {
    "rehearse": "play a whole case with nobody in the room",
    "listen": "listen live, one case after the other",
    "hear": "say what would be heard in recordings",
    "watch": "watch the oximeter and call the saturation at the threshold",
    "glance": "serve the glance display, a page for a screen at the foot of the bed",
    "check": "check a site's files",
    "phrases": "list what people may say, to read or to print",
    "dose": "work out one dose, with its working and its source",
    "card": "write the drug card for one patient, as a page to print",
    "debrief": "show what was said, heard and done in a case, and when",
    "mark": "mark a moment of a case in progress, for its debrief",
    "cases": "list, export or remove the cases that are kept",
    "models": "list, fetch and import models for other languages",
    "devices": "list serial ports, microphones and loudspeakers",
    "patient": "show how the saturation of a rehearsal's patient falls, and what would be called",
}
"""What each command is for. Its module has the same name, and in it are `DESCRIPTION`,
`add_options(parser)` and `run(arguments)`, which returns the exit code."""

BAD_INPUT, PROGRAM_FAULT, MACHINE_FAILED, INTERRUPTED = 2, 70, 74, 130
"""Exit codes: those of sysexits.h where it has one, and a shell's."""

_CAUTION = (
    "Not a medical device and not a monitor's alarm: local protocol and the licensed clinician "
    "decide, and every dose is checked against the label in hand."
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    words = sys.argv[1:] if argv is None else argv
    _make_writable()
    try:
        try:
            arguments = _parser(words).parse_args(words)
        finally:
            sys.stdout.flush()  # the help, which ends the program where nobody reads on either
        code = int(arguments.run(arguments))
        sys.stdout.flush()  # a disk that is full is told now, and not after the end
    except BadInput as fault:
        return _complain(str(fault), BAD_INPUT)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:  # whoever reads has enough, as `head` has
        _write_no_more()
        return 0
    except OSError as fault:
        return _failed(fault)
    except Exception:  # noqa: BLE001 - whatever it is, the exit code says that it is our own
        traceback.print_exc()
        return PROGRAM_FAULT
    return code


def _make_writable() -> None:
    """What was closed takes and gives nothing, and no sign that a terminal of another character set
    lacks ends a command.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open(mode))  # noqa: SIM115 - to the end
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _failed(fault: OSError) -> int:
    if fault.errno == errno.ENAMETOOLONG:
        return _complain("found a name that is too long; allowed: a shorter one.", BAD_INPUT)
    _write_no_more()
    where = "" if fault.filename is None else f"{fault.filename}: "
    return _complain(f"{where}{fault.strerror or fault}.", MACHINE_FAILED)


def _complain(sentence: str, code: int) -> int:
    with suppress(OSError):  # nobody reads it
        print(f"spoken-brief: {sentence}", file=sys.stderr)
    return code


def _write_no_more() -> None:
    """What is not written yet cannot be, and Python would try it once more at its end."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _parser(words: Sequence[str]) -> argparse.ArgumentParser:
    """The parser of all commands; only the one that is given has its options."""
    parser = argparse.ArgumentParser(
        prog="spoken-brief",
        description="A spoken caller for the minutes around an emergency intubation.",
        epilog=_CAUTION,
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    # No option stands before the command but --help, so the first other word is the command.
    given = next((word for word in words if not word.startswith("-")), None)
    for name, what_for in COMMANDS.items():
        command = commands.add_parser(name, help=what_for, epilog=_CAUTION)
        if name == given:
            module = import_module(f"assistant.commands.{name}")
            command.description = module.DESCRIPTION
            module.add_options(command)
            command.set_defaults(run=module.run)
    return parser
