"""`spoken-brief rehearse --text`: a case that is typed and read, without any sound."""

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from assistant.commands.transcript import Transcript
from assistant.errors import BadInput
from assistant.files.plain_text import read_text, text_of
from assistant.journal.folder import new_case
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.text_script import MARKS, ScriptLine, ScriptRun, read_line, read_script
from assistant.site.site import Site

STANDARD_INPUT = Path("-")
_PROMPT = ": "
_PIPED = Path("standard input")
_A_SCRIPT = "a script for --text"


def run_in_text(site: Site, script: Path, cases: Path) -> int:
    """Play a script, or take it line by line from whoever types it; 1 if it is not as written.

    Raises BadInput, before there is a case, when a script makes no sense.
    """
    typed = script == STANDARD_INPUT and sys.stdin.isatty()
    lines = _typed_lines() if typed else _script(script)
    folder = new_case(cases, site.files)
    print(
        f"A case in text, at {site.brief.name}: no sound, so neither hearing nor voice is "
        f"exercised. Case: {folder}\n",
        flush=True,
    )
    if typed:
        print(*(f"  {mark or ' '}  {means}" for mark, means in MARKS.items()), "", sep="\n")
    case = TextCase(site, folder, show=Transcript().show)
    try:
        faults = _play(case, lines, go_on=typed)
    finally:
        case.close()
    print(f"\nRecord: spoken-brief debrief {folder}")
    return 1 if faults and not typed else 0


def _play(case: TextCase, lines: Iterable[ScriptLine], *, go_on: bool) -> bool:
    """Whether anything was not as written; with `go_on` that is no reason to end."""
    run = ScriptRun(case, lambda text: print(f"{'':11}{text}"))
    for line in lines:
        fault = run.play(line)
        if fault:
            print(f"Not as expected: line {line.number}: {fault}.")
        if fault and not go_on:
            return True
    lines_said = "1 line" if run.expected == 1 else f"{run.expected} lines"
    print(f"\n{case.now_s:.0f} s of the case; {lines_said} said as expected.")
    return False


def _script(path: Path) -> tuple[ScriptLine, ...]:
    if path == STANDARD_INPUT:
        text = text_of(sys.stdin.buffer.read(), _PIPED, _A_SCRIPT)
        return read_script(text, _PIPED)
    text = read_text(path, _A_SCRIPT)
    if path.suffix in (".yaml", ".yml"):  # every line of it could be taken for words
        raise BadInput.in_file(
            path,
            found="a file in YAML",
            allowed=f"{_A_SCRIPT}, a line for each thing said; a rehearsal is played by: "
            f"rehearse {path}",
        )
    return read_script(text, path)


def _typed_lines() -> Iterator[ScriptLine]:
    """Line by line until the end of the input; one that makes no sense is asked for again."""
    number = 0
    while True:
        try:
            typed = input(_PROMPT)
        except EOFError:
            return
        number += 1
        try:
            line = read_line(typed, number, Path("typed"))
        except BadInput as fault:
            print(fault)
            continue
        if line is not None:
            yield line
