"""Reading a site's YAML: every complaint names the file, the line, the key and what is allowed.

PyYAML with YAML 1.2's plain values, and not ruamel.yaml: that would save the four lines of values
and the look for twins, not the way from a model's complaint to its line, and takes 0.14 s for the
formulary that libyaml reads in 0.01.
"""

import json
import re
from collections.abc import Hashable
from pathlib import Path
from typing import Any, TypeVar

import yaml
from pydantic import BaseModel, ConfigDict, ValidationError

from assistant.errors import BadInput


class _Loader(yaml.CSafeLoader):
    """YAML 1.2's plain values: only true and false are booleans, and 010 is ten.

    PyYAML follows YAML 1.1, in which the words yes, no, on and off, of all words, are booleans.
    Its reader in C, which its wheels have, takes a tenth of the time of the one in Python.
    """

    yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}  # noqa: RUF012


_PLAIN = (
    ("bool", r"^(?:true|false)$", "tf"),
    ("int", r"^(?:[-+]?[0-9]+|0x[0-9a-fA-F]+)$", "-+0123456789"),
    ("float", r"^[-+]?(?:\.[0-9]+|[0-9]+\.[0-9]*)$", "-+.0123456789"),
    ("null", r"^(?:~|null|)$", ["~", "n", ""]),
)
for _tag, _form, _first in _PLAIN:
    _Loader.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", re.compile(_form), list(_first))
_Loader.add_constructor(
    "tag:yaml.org,2002:int", lambda _, node: int(node.value, 16 if "x" in node.value else 10)
)


class SiteModel(BaseModel):
    """Base of every part of a site's files: unknown keys are refused, nothing is converted."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, use_attribute_docstrings=True
    )


LARGEST_BYTES = 1_000_000
"""Thirty times the largest file of the example site."""
M = TypeVar("M", bound=BaseModel)
Loc = tuple[int | str, ...]


def read_yaml(path: Path, model: type[M]) -> M:
    """Read one YAML file into its model.

    Raises BadInput, with one sentence, at the first thing that is wrong with it.
    """
    text = _text(path)
    try:
        _refuse_references(path, text)
        loader = _Loader(text)
        root = loader.get_single_node()
        if root is not None:
            _refuse_twins(path, root)
        content = None if root is None else loader.construct_document(root)
    except (yaml.YAMLError, RecursionError, AttributeError, TypeError, ValueError) as fault:
        # A list as a key, a part of itself, a tag that does not fit: PyYAML raises what it likes.
        mark = getattr(fault, "problem_mark", None)
        raise BadInput.in_file(
            path,
            line=None if mark is None else mark.line + 1,
            found=_problem(fault) or "something that is not YAML",
            allowed="well-formed YAML",
        ) from fault
    if not isinstance(content, dict) or root is None:
        raise BadInput.in_file(path, line=1, found=_shown(content), allowed="keys at the top level")
    try:
        # As JSON, because only there may a strict model take a list for a tuple.
        return model.model_validate_json(json.dumps(content, default=str))
    except ValidationError as fault:
        error = fault.errors()[0]
        loc = _within_yaml(root, error["loc"], missing=error["type"] == "missing")
        raise BadInput.in_file(
            path,
            line=line_of(root, loc),
            key=".".join(str(step) for step in loc) or None,
            found=_found(error),
            allowed=_allowed(error),
        ) from fault


def _text(path: Path) -> str:
    """The whole file. Raises BadInput for what is no file of a size that somebody has written."""
    try:
        if path.exists() and not path.is_file():
            raise BadInput.in_file(path, found="no regular file", allowed="a YAML file")
        size_bytes = path.stat().st_size
        if size_bytes > LARGEST_BYTES:
            raise BadInput.in_file(
                path, found=f"{size_bytes} bytes", allowed=f"at most {LARGEST_BYTES} bytes"
            )
        return path.read_text(encoding="utf-8")
    except FileNotFoundError as fault:
        raise BadInput.in_file(path, found="no such file", allowed="a YAML file") from fault
    except (OSError, UnicodeDecodeError) as fault:
        raise BadInput.in_file(
            path, found="a file that cannot be read", allowed="a YAML file in UTF-8"
        ) from fault


def _refuse_references(path: Path, text: str) -> None:
    """Aliases can make gigabytes of a few lines, and tags another type of what stands there."""
    for event in yaml.parse(text, Loader=_Loader):
        found = ""
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            found = "an anchor or alias (& or *)"
        elif tag := getattr(event, "tag", None):
            found = f"a tag ({tag})"
        if found:
            mark = event.start_mark
            line = None if mark is None else mark.line + 1
            raise BadInput.in_file(path, line=line, found=found, allowed="plain values only")


def line_in(path: Path, *loc: int | str) -> int:
    """The line, from 1, on which the value at `loc` stands: for checks made after reading."""
    root = yaml.compose(path.read_text(encoding="utf-8"), Loader=_Loader)
    return 1 if root is None else line_of(root, loc)


def line_of(root: yaml.Node, loc: Loc) -> int:
    """The line, from 1, of the deepest part of `loc` that exists."""
    node, line = root, root.start_mark.line
    for step in loc:
        found = _child(node, step)
        if found is None:
            break
        key, node = found
        line = key.start_mark.line
    return int(line) + 1


def _child(node: yaml.Node, step: int | str) -> tuple[yaml.Node, yaml.Node] | None:
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if key.value == str(step):
                return key, value
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        return node.value[step], node.value[step]
    return None


def _within_yaml(root: yaml.Node, loc: Loc, *, missing: bool) -> Loc:
    """Drop the steps of a pydantic location that name a type and not a place in the file."""
    node: yaml.Node | None = root
    kept: list[int | str] = []
    for step in loc:
        found = None if node is None else _child(node, step)
        if found is not None:
            node = found[1]
            kept.append(step)
    return (*kept, loc[-1]) if missing else tuple(kept)


def _refuse_twins(path: Path, node: yaml.Node) -> None:
    """PyYAML silently takes the last of two equal keys; a site would lose an item."""
    if isinstance(node, yaml.MappingNode):
        seen: set[Hashable] = set()
        for key, value in node.value:
            if key.value in seen:
                raise BadInput.in_file(
                    path,
                    line=key.start_mark.line + 1,
                    key=key.value,
                    found="the same key twice",
                    allowed="each key once",
                )
            seen.add(key.value)
            _refuse_twins(path, value)
    if isinstance(node, yaml.SequenceNode):
        for value in node.value:
            _refuse_twins(path, value)


def _problem(fault: Exception) -> str:
    problem = getattr(fault, "problem", None) or ""
    words = str(problem).removeprefix("but ").removeprefix("found ")
    return words.replace("did not find ", "no ")


def _found(error: Any) -> str:
    if error["type"] == "missing":
        return "nothing"
    if error["type"] == "extra_forbidden":
        return "an unknown key"
    return _shown(error["input"])


def _allowed(error: Any) -> str:
    if error["type"] == "missing":
        return "a value for this key"
    if error["type"] == "extra_forbidden":
        return "only the keys that docs/site-files.md lists"
    if error["type"] == "too_short":
        least = error["ctx"]["min_length"]
        return "at least one" if least == 1 else f"at least {least}"
    message = str(error["msg"])
    for opening in ("Input should be ", "Value error, "):
        message = message.removeprefix(opening)
    return message[:1].lower() + message[1:]


def _shown(value: object) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
