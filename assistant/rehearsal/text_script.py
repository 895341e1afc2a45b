"""A script for a case in text: one line for each thing that happens or is expected."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from assistant.errors import BadInput
from assistant.rehearsal.text_case import TextCase

MARKS = {
    "": "heard as these words",
    "~": "heard as these words, but not surely",
    "-": "said in the room and ignored",
    "+": "so many seconds pass",
    "!": "the watcher calls this saturation",
    "=": "the watcher sees this saturation from now on, and calls nothing",
    "?": "what may be said now is shown",
    ">": "what the assistant says next",
}
"""What a line means, by its first character; # begins a comment."""
LONGEST_WAIT_S = 3600.0
_REST_OF_IT = ("…", "...")
"""At the end of what is expected: how it goes on does not matter."""


@dataclass(frozen=True, slots=True)
class ScriptLine:
    """One line of a script."""

    number: int
    """In its file, from 1."""
    mark: str
    """One of `MARKS`."""
    text: str
    """Without the mark."""


def read_script(text: str, path: Path) -> tuple[ScriptLine, ...]:
    """A whole script; `path` is only named when it is refused.

    Raises BadInput at the first line that makes no sense.
    """
    return tuple(_script_lines(text.splitlines(), path))


def _script_lines(lines: Iterable[str], path: Path) -> Iterator[ScriptLine]:
    for number, line in enumerate(lines, 1):
        found = read_line(line, number, path)
        if found is not None:
            yield found


def read_line(line: str, number: int, path: Path) -> ScriptLine | None:
    """One line; None for an empty one and for a comment. Raises BadInput as `read_script`."""
    line = line.strip()
    if not line or line.startswith("#"):
        return None
    mark = line[0] if line[0] in MARKS else ""
    text = line.removeprefix(mark).strip()
    needed = _needed(mark, text)
    if needed:
        raise BadInput.in_file(path, line=number, found=repr(line), allowed=needed)
    return ScriptLine(number, mark, text)


def _needed(mark: str, text: str) -> str:
    """What a line with this mark has to hold, when it does not."""
    if mark == "+":
        return "" if _is_seconds(text) else f"+ and seconds, more than 0, to {LONGEST_WAIT_S:.0f}"
    if mark in ("!", "="):
        whole = text.isascii() and text.isdigit()
        right = whole and 1 <= int(text) <= 100
        return "" if right else f"{mark} and a saturation, 1 to 100 percent"
    if mark == "?":
        return "" if not text else "? by itself"
    return "" if text else f"{mark} and words"


def _is_seconds(text: str) -> bool:
    try:
        return 0 < float(text) <= LONGEST_WAIT_S
    except ValueError:
        return False


class ScriptRun:
    """Plays the lines of a script in a case."""

    def __init__(self, case: TextCase, show: Callable[[str], None]) -> None:
        """`show` is given each line of what may be said, where a script asks for that."""
        self._case = case
        self._show = show
        self._checked = 0
        """Lines of the assistant that were expected already, or are past."""
        self.expected = 0
        """Lines of the script that told what is to be said, and were right."""

    def play(self, line: ScriptLine) -> str:
        """Have one line happen; a sentence when that, or what was said, is not as written."""
        if line.mark == ">":
            return self._expect(line.text)
        if line.mark == "?":
            self._show_what_may_be_said()
            return ""
        self._checked = len(self._case.lines)
        if line.mark == "+":
            self._case.waits(float(line.text))
        elif line.mark == "!":
            self._case.called(int(line.text))
        elif line.mark == "=":
            self._case.sees(int(line.text))
        else:
            return self._say(line)
        return ""

    def _say(self, line: ScriptLine) -> str:
        self._case.hears(line.text, sure=line.mark != "~")
        row = self._case.heard
        taken = row is not None and row.kind == "heard"
        if taken and line.mark == "-":
            return f"{line.text!r} was taken for something said to the assistant"
        if not taken and line.mark != "-":
            return f"{line.text!r} was ignored: {row.data['why'] if row else 'nobody was heard'}"
        return ""

    def _expect(self, text: str) -> str:
        said = self._case.said[self._checked :]
        if not said:
            return f"{text!r} was to be said, and nothing more was"
        if not _fits(said[0], text):
            return f"{text!r} was to be said, and it was {said[0]!r}"
        self._checked += 1
        self.expected += 1
        return ""

    def _show_what_may_be_said(self) -> None:
        for meaning, phrases in self._case.may_be_said().items():
            self._show(f"{meaning}: {' / '.join(phrases)}")


def _fits(said: str, expected: str) -> bool:
    for rest in _REST_OF_IT:
        if expected.endswith(rest):
            return said.startswith(expected.removesuffix(rest).rstrip())
    return said == expected
