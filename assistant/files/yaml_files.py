"""Reading a site's YAML: every complaint names the file, the line, the key and what is allowed."""

import json
from pathlib import Path
from typing import TypeVar

import yaml
from pydantic import BaseModel, ConfigDict, ValidationError

from assistant.errors import BadInput
from assistant.files.complaints import allowed, found, shown
from assistant.files.plain_yaml import Loc, child, line_of, read_plain_yaml


class SiteModel(BaseModel):
    """Base of every part of a site's files: unknown keys are refused, nothing is converted."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, use_attribute_docstrings=True
    )


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
        complaints: dict[Loc, BadInput] = {}
        errors = fault.errors()
        for error in errors:
            if any(_is_within(other["loc"], error["loc"]) for other in errors):
                continue  # wrong for what is in it, such as a list too short without a bad entry
            loc = _within_yaml(root, error["loc"], missing=error["type"] == "missing")
            complaint = BadInput.in_file(
                path,
                line=line_of(root, loc),
                key=".".join(str(step) for step in loc) or None,
                found=found(error),
                allowed=allowed(error, model),
            )
            complaints.setdefault(loc, complaint)  # what fits none of several forms is told once
        raise BadInput.all_of(complaints.values()) from fault


def _is_within(loc: Loc, whole: Loc) -> bool:
    return len(loc) > len(whole) and loc[: len(whole)] == whole


def line_in(path: Path, *loc: int | str) -> int:
    """The line, from 1, on which the value at `loc` stands: for checks made after reading."""
    root, _ = read_plain_yaml(path)
    return 1 if root is None else line_of(root, loc)


def _within_yaml(root: yaml.Node, loc: Loc, *, missing: bool) -> Loc:
    """Drop the steps of a pydantic location that name a type and not a place in the file."""
    node: yaml.Node | None = root
    kept: list[int | str] = []
    for step in loc:
        entry = None if node is None else child(node, step)
        if entry is not None:
            node = entry[1]
            kept.append(step)
    return (*kept, loc[-1]) if missing else tuple(kept)
