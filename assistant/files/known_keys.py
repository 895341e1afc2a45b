"""The keys that may stand at a place of a file, and the one that a misspelt key likely is."""

from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from functools import cache
from typing import Any

from pydantic import BaseModel

from assistant.files.plain_yaml import Loc

_LIKE = 0.6
"""Share of letters in common, by difflib: "cal" is call, "sourse" is sources."""


def likely_one(word: object, words: Iterable[str]) -> str | None:
    """The word of `words` that is most like this one; None when none is like it."""
    found = get_close_matches(str(word), list(words), n=1, cutoff=_LIKE)
    return found[0] if found else None


def keys_at(model: type[BaseModel], loc: Loc) -> tuple[str, ...]:
    """The keys that may stand at a place, as pydantic names it, of a file that `model` reads."""
    schema = _schema(model)
    parts = list(_parts(schema, schema))
    for step in loc:
        within = [one for part in parts for one in _step(part, step)]
        # A step that leads nowhere names the kind of a part, and no place in the file.
        kept = [part for part in parts if _is_kind(part, step)] or parts
        parts = [one for part in within for one in _parts(part, schema)] if within else kept
    return tuple(dict.fromkeys(key for part in parts for key in part.get("properties", {})))


@cache
def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return model.model_json_schema()


def _parts(part: dict[str, Any], schema: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """What stands there in the end: references followed, each of several forms."""
    if "$ref" in part:
        yield from _parts(schema["$defs"][part["$ref"].rsplit("/", 1)[1]], schema)
        return
    forms = [form for name in ("anyOf", "oneOf", "allOf") for form in part.get(name, ())]
    if not forms:
        yield part
    for form in forms:
        yield from _parts(form, schema)


def _step(part: dict[str, Any], step: int | str) -> Iterator[dict[str, Any]]:
    if isinstance(step, int):
        if isinstance(part.get("items"), dict):
            yield part["items"]
    elif step in part.get("properties", {}):
        yield part["properties"][step]
    elif isinstance(part.get("additionalProperties"), dict):
        yield part["additionalProperties"]


def _is_kind(part: dict[str, Any], step: int | str) -> bool:
    return bool(part.get("properties", {}).get("kind", {}).get("const") == step)
