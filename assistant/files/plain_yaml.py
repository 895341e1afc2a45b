"""The part of YAML that a site's files are written in: keys, lists and plain values, nothing else.

PyYAML reads them. ruamel.yaml was tried, as it knows YAML 1.2 and refuses a key that stands twice;
but it drops tags, follows aliases, turns dates into dates and honours `%YAML 1.1`, so that all this
would still have to be refused here, and it takes 0.14 s for a formulary.
"""

import re
import stat
from collections.abc import Hashable
from pathlib import Path
from typing import Any, NamedTuple

import yaml
from yaml._yaml import CParser
from yaml.composer import Composer
from yaml.constructor import SafeConstructor
from yaml.resolver import Resolver

from assistant.errors import BadInput

MOST_BYTES = 1_000_000
"""The longest file of the example site has 40 000."""

Loc = tuple[int | str, ...]


class PlainYaml(NamedTuple):
    """A file as it was read."""

    root: yaml.Node | None
    """With the place of every value; None for an empty file."""
    content: Any


class _RefusedError(yaml.MarkedYAMLError):
    """Well-formed YAML that has no place in a site's file."""

    def __init__(self, mark: Any, found: str, allowed: str, key: str | None = None) -> None:
        super().__init__(problem=found, problem_mark=mark)
        self.allowed = allowed
        self.key = key


class _Loader(Composer, CParser, SafeConstructor, Resolver):
    """YAML 1.2's plain values: only true and false are booleans, and 010 is ten.

    PyYAML follows YAML 1.1, in which the words yes, no, on and off, of all words, are booleans.
    Its parser in C, which its wheels have, is many times as fast as the one in Python; what it
    finds is put together in Python, where more can be refused.
    """

    def __init__(self, text: str) -> None:
        CParser.__init__(self, text)
        Composer.__init__(self)
        SafeConstructor.__init__(self)
        Resolver.__init__(self)

    yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}  # noqa: RUF012

    def compose_node(self, parent: yaml.Node | None, index: Any) -> yaml.Node | None:
        """Refuse anchors, aliases and tags: a few lines of aliases can fill the whole memory."""
        event: Any = self.peek_event()
        written_out = "each value written out"
        if isinstance(event, yaml.AliasEvent):
            raise _RefusedError(event.start_mark, f"the alias *{event.anchor}", written_out)
        if event.anchor is not None:
            raise _RefusedError(event.start_mark, f"the anchor &{event.anchor}", written_out)
        if event.tag is not None:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            raise _RefusedError(event.start_mark, f"the tag {tag}", "values without a tag")
        return super().compose_node(parent, index)

    def compose_mapping_node(self, anchor: Any) -> yaml.MappingNode:
        """Refuse a key that stands twice: PyYAML takes the last, and a site would lose an item."""
        node = super().compose_mapping_node(anchor)
        seen: set[Hashable] = set()
        for key, _ in node.value:
            if not isinstance(key, yaml.ScalarNode):
                raise _RefusedError(key.start_mark, "a list or keys as a key", "a word as a key")
            if key.value in seen:
                found = "the same key twice"
                raise _RefusedError(key.start_mark, found, "each key once", key.value)
            seen.add(key.value)
        return node


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


def read_plain_yaml(path: Path) -> PlainYaml:
    """Read a file. Raises BadInput, with one sentence, for whatever else it holds."""
    text = _text(path)
    try:
        loader = _Loader(text)
        root = loader.get_single_node()
        return PlainYaml(root, None if root is None else loader.construct_document(root))
    except (yaml.YAMLError, RecursionError, ValueError) as fault:
        # Lists within lists without end, a number of thousands of digits: PyYAML lets them through.
        mark = getattr(fault, "problem_mark", None)
        raise BadInput.in_file(
            path,
            line=None if mark is None else mark.line + 1,
            key=getattr(fault, "key", None),
            found=_problem(fault) or "something that is not YAML",
            allowed=getattr(fault, "allowed", "well-formed YAML"),
        ) from fault


def line_of(root: yaml.Node, loc: Loc) -> int:
    """The line, from 1, of the deepest part of `loc` that exists."""
    node, line = root, root.start_mark.line
    for step in loc:
        found = child(node, step)
        if found is None:
            break
        key, node = found
        line = key.start_mark.line
    return int(line) + 1


def child(node: yaml.Node, step: int | str) -> tuple[yaml.Node, yaml.Node] | None:
    """The key and the value of one step into a node, an entry of a list twice; None without it."""
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if key.value == str(step):
                return key, value
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        return node.value[step], node.value[step]
    return None


def _text(path: Path) -> str:
    """The whole file. Raises BadInput for what is no file of a moderate size in UTF-8."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # a pipe would never end
            raise BadInput.in_file(path, found="something that is no file", allowed="a YAML file")
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
        if len(content) > MOST_BYTES:
            raise BadInput.in_file(
                path,
                found=f"more than {MOST_BYTES // 1000} kB",
                allowed=f"a YAML file of at most {MOST_BYTES // 1000} kB",
            )
        return content.decode()
    except FileNotFoundError as fault:
        raise BadInput.in_file(path, found="no such file", allowed="a YAML file") from fault
    except (OSError, UnicodeDecodeError) as fault:
        raise BadInput.in_file(
            path, found="a file that cannot be read", allowed="a YAML file in UTF-8"
        ) from fault


def _problem(fault: Exception) -> str:
    problem = getattr(fault, "problem", None) or ""
    words = str(problem).removeprefix("but ").removeprefix("found ")
    words = words.replace("exceeded maximum nesting depth", "lists within lists without end")
    return words.replace("did not find ", "no ")
