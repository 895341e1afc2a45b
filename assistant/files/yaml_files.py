"""Reading a site's YAML: every complaint names the file, the line, the key and what is allowed."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeVar

import yaml
from pydantic import BaseModel, ConfigDict, ValidationError

from assistant.errors import BadInput
from assistant.files.complaints import allowed, found, place, shown, written_key
from assistant.files.known_keys import keys_at, likely_one
from assistant.files.named_files import stands_there
from assistant.files.plain_yaml import Loc, child, line_of, read_plain_yaml

MOST_TOLD = 50
"""Faults of one file; who sees so many has another file in hand than was meant."""


class SiteModel(BaseModel):
    """Base of every part of a site's files: unknown keys are refused, nothing is converted."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


M = TypeVar("M", bound=BaseModel)


def read_yaml(path: Path, model: type[M]) -> M:
    """Read one YAML file into its model.

    Raises BadInput, with a sentence for each thing that is wrong with it.
    """
    root, content = read_plain_yaml(path)
    if not isinstance(content, dict) or root is None:
        raise BadInput.in_file(path, line=1, found=shown(content), allowed="keys at the top level")
    try:
        # As JSON, because only there may a strict model take a list for a tuple.
        return model.model_validate_json(json.dumps(content))
    except ValidationError as fault:
        raise BadInput.all_of(_complaints(path, root, fault, model)) from fault


def read_yaml_if_there(path: Path, model: type[M]) -> M | None:
    """The same of a file that a site may do without: None without it. Raises BadInput.

    A link that leads nowhere is no absent file: somebody wanted it there.
    """
    return read_yaml(path, model) if stands_there(path) else None


def _complaints(
    path: Path, root: yaml.Node, fault: ValidationError, model: type[BaseModel]
) -> Iterator[BadInput]:
    errors = fault.errors()
    misspelt = {_likely_place(error, model) for error in errors}
    with_faults_within = {
        error["loc"][:end] for error in errors for end in range(len(error["loc"]))
    }
    told: set[Loc] = set()
    for error in errors:
        if error["loc"] in with_faults_within:
            continue  # wrong for what is in it, such as a list too short without a bad entry
        if error["type"] == "missing" and error["loc"] in misspelt:
            continue  # it is there under a misspelt name, and that is told
        by_key = error["type"] == "missing" or place(error) != error["loc"]
        loc = _within_yaml(root, place(error), by_key=by_key)
        if loc in told:
            continue  # what fits none of several forms is told once
        if len(told) == MOST_TOLD:
            more = f"more than {MOST_TOLD} faults, of which these are the first"
            yield BadInput.in_file(path, found=more, allowed="none")
            return
        told.add(loc)
        yield BadInput.in_file(
            path,
            line=line_of(root, loc),
            key=".".join(map(written_key, loc)) or None,
            found=found(error),
            allowed=allowed(error, model),
        )


def _likely_place(error: Any, model: type[BaseModel]) -> Loc | None:
    """Where an unknown key was likely meant to stand."""
    if error["type"] != "extra_forbidden":
        return None
    *around, key = error["loc"]
    likely = likely_one(key, keys_at(model, tuple(around)))
    return None if likely is None else (*around, likely)


def line_in(path: Path, *loc: int | str) -> int:
    """The line, from 1, on which the value at `loc` stands: for checks made after reading."""
    root, _ = read_plain_yaml(path)
    return 1 if root is None else line_of(root, loc)


def _within_yaml(root: yaml.Node, loc: Loc, *, by_key: bool) -> Loc:
    """Drop the steps of a pydantic location that name a type and not a place in the file.

    `by_key`: the last one is a key, also where nothing stands under it.
    """
    node: yaml.Node | None = root
    kept: list[int | str] = []
    last = len(loc) - 1
    for at, step in enumerate(loc):
        entry = None if node is None else child(node, step)
        if entry is not None:
            node = entry[1]
        if entry is not None or (by_key and at == last):
            kept.append(step)
    return tuple(kept)
