"""The part of YAML that a site's files are written in: keys, lists and plain values, nothing else.

PyYAML reads them. ruamel.yaml was tried, as it knows YAML 1.2 and refuses a key that stands twice;
but it drops tags, follows aliases, turns dates into dates and honours `%YAML 1.1`, so that all this
would still have to be refused here, and it takes 0.14 s for a formulary.
"""

import re
from collections.abc import Callable, Hashable
from pathlib import Path
from typing import Any, NamedTuple

import yaml
from yaml._yaml import CParser
from yaml.composer import Composer
from yaml.constructor import SafeConstructor
from yaml.resolver import Resolver

from assistant.errors import BadInput
from assistant.files.plain_text import read_text, unseen_sign
from assistant.files.yaml_slips import slip_of

MOST_VALUES = 20_000
"""The longest file of the example site has 2500 keys and values."""
DEEPEST = 20
"""Lists and keys within one another; the example site has eight."""
MOST_DIGITS = 40
_LONGEST_NAME = 60

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
        self.line = int(mark.line) + 1
        self.found = found
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
        self.values = 0
        self.depth = 0

    def compose_document(self) -> yaml.Node | None:
        """Refuse directives, which would change what the values mean."""
        opening: Any = self.peek_event()
        if opening.version is not None or opening.tags:
            raise _RefusedError(opening.start_mark, "a line that begins with %", "no such line")
        return super().compose_document()

    yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}  # noqa: RUF012

    def compose_node(self, parent: yaml.Node | None, index: Any) -> yaml.Node | None:
        """Refuse anchors, aliases and tags: a few lines of aliases can fill the whole memory.

        And what is too deep or too much to be a site's.
        """
        event: Any = self.peek_event()
        written_out = "each value written out"
        if isinstance(event, yaml.AliasEvent):
            alias = _cut(str(event.anchor))
            raise _RefusedError(event.start_mark, f"the alias *{alias}", written_out)
        if event.anchor is not None:
            raise _RefusedError(event.start_mark, f"the anchor &{_cut(event.anchor)}", written_out)
        if event.tag is not None:
            tag = _cut(event.tag.replace("tag:yaml.org,2002:", "!!"))
            raise _RefusedError(event.start_mark, f"the tag {tag}", "values without a tag")
        self.values += 1
        if self.values > MOST_VALUES:
            found = f"more than {MOST_VALUES} keys and values"
            raise _RefusedError(event.start_mark, found, "a file of a site's size")
        if self.depth > DEEPEST:
            found = f"lists and keys within one another, more than {DEEPEST} deep"
            raise _RefusedError(event.start_mark, found, "what docs/site-files.md lists")
        self.depth += 1
        node = super().compose_node(parent, index)
        self.depth -= 1
        unseen = unseen_sign(node.value) if isinstance(node, yaml.ScalarNode) else None
        if unseen is not None:
            raise _RefusedError(event.start_mark, unseen, "signs that can be seen")
        return node

    def compose_mapping_node(self, anchor: Any) -> yaml.MappingNode:
        """Refuse a key that stands twice: PyYAML takes the last, and a site would lose an item."""
        node = super().compose_mapping_node(anchor)
        seen: set[Hashable] = set()
        for key, _ in node.value:
            if not isinstance(key, yaml.ScalarNode):
                raise _RefusedError(key.start_mark, "a list or keys as a key", "a word as a key")
            if key.tag != "tag:yaml.org,2002:str":
                found = f"{_cut(key.value) or 'nothing'} as a key"
                raise _RefusedError(key.start_mark, found, "a word as a key")
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


def _number(kind: Callable[[str], object]) -> Callable[[Any, yaml.ScalarNode], object]:
    def constructed(_: Any, node: yaml.ScalarNode) -> object:
        if len(node.value) > MOST_DIGITS:
            found = f"a number of {len(node.value)} digits"
            raise _RefusedError(node.start_mark, found, f"at most {MOST_DIGITS}")
        return kind(node.value)

    return constructed


_Loader.add_constructor(
    "tag:yaml.org,2002:int", _number(lambda digits: int(digits, 16 if "x" in digits else 10))
)
_Loader.add_constructor("tag:yaml.org,2002:float", _number(float))


def read_plain_yaml(path: Path) -> PlainYaml:
    """Read a file. Raises BadInput, with one sentence, for whatever else it holds."""
    text = read_text(path, "a YAML file")
    try:
        loader = _Loader(text)
        root = loader.get_single_node()
        return PlainYaml(root, None if root is None else loader.construct_document(root))
    except _RefusedError as fault:
        key = None if fault.key is None else _cut(fault.key)
        raise BadInput.in_file(
            path, line=fault.line, key=key, found=fault.found, allowed=fault.allowed
        ) from fault
    except yaml.MarkedYAMLError as fault:
        slip = slip_of(fault, text.splitlines())
        mark = (fault.context_mark if slip.from_its_beginning else None) or fault.problem_mark
        raise BadInput.in_file(
            path,
            line=None if mark is None else mark.line + 1,
            found=slip.found,
            allowed=slip.allowed,
        ) from fault


def _cut(name: str) -> str:
    return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 3]}..."


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
