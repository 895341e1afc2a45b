"""What the YAML parser stumbles over, in plain words: its own speak of tokens and mappings."""

import re
from typing import NamedTuple

import yaml


class Slip(NamedTuple):
    """What was found, and what is allowed in its place."""

    found: str
    allowed: str
    from_its_beginning: bool = False
    """Whether the place is where the unfinished thing begins, and not where it was noticed."""


_WELL_FORMED = "well-formed YAML"
_IN_WORDS = (
    ("mapping values are not allowed", Slip(
        "a colon where no key can stand",
        "a value that has a colon in quotes, and keys of one level under one another",
    )),
    ("found unexpected end of stream", Slip(
        "a quote that is never closed", "a quote at the end of the value too", True
    )),
    ("found unexpected document indicator", Slip(
        "a quote that is never closed", "a quote at the end of the value too", True
    )),
    ("',' or ']'", Slip("a list that is never closed", "a ] at its end", True)),
    ("',' or '}'", Slip("keys in braces that are never closed", "a } at their end", True)),
    ("expected key", Slip(
        "a line that is no key with its value",
        "keys of one level under one another, and quotes that are closed",
    )),
    ("expected '-' indicator", Slip(
        "a line that is no entry of the list above", "entries under one another, a - before each"
    )),
    ("could not find expected ':'", Slip(
        "words without a colon", "a key, a colon and its value", True
    )),
    ("expected <document start>", Slip(
        "a line that belongs to nothing before it", "keys of one level under one another"
    )),
    ("maximum nesting depth", Slip(
        "lists and keys within one another without end", "what docs/site-files.md lists"
    )),
    ("another document", Slip("a second document, after ---", "one document")),
    ("escape c", Slip(
        "a backslash with what means nothing there", "'single quotes', in which it is itself"
    )),
    ("expected hexdecimal number", Slip(
        "a backslash with what means nothing there", "'single quotes', in which it is itself"
    )),
    ("block sequence entries are not allowed", Slip(
        "a - where no list can stand", "a list on lines of its own"
    )),
    ("expected the node content", Slip("no value", "a value, in quotes if it begins with a sign")),
    ("expected node content", Slip("no value", "a value, in quotes if it begins with a sign")),
)  # fmt: skip


def slip_of(fault: yaml.MarkedYAMLError, lines: list[str]) -> Slip:
    """What it comes to; the parser's own words where nothing is known of them."""
    problem = str(fault.problem or "")
    if "tab character" in problem or "cannot start any token" in problem:
        return _unfit_sign(fault, lines)
    if "directive" in f"{fault.context} {problem}":
        return Slip("a line that begins with %", "no such line")
    for words, slip in _IN_WORDS:
        if words in problem:
            return slip
    shorter = re.sub("^(but |did not find |found )+", "", problem)
    return Slip(shorter or "something that is not YAML", _WELL_FORMED)


def _unfit_sign(fault: yaml.MarkedYAMLError, lines: list[str]) -> Slip:
    """A sign with which nothing begins: the one at the mark."""
    mark = fault.problem_mark
    line = lines[mark.line] if mark is not None and mark.line < len(lines) else ""
    sign = line[mark.column : mark.column + 1] if mark is not None else ""
    if sign in ("\t", "") or "\t" in line[: len(line) - len(line.lstrip())]:
        return Slip("a tab", "spaces before a key")
    return Slip(f"a value that begins with {sign}", "a value in quotes that begins with a sign")
