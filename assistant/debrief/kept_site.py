"""The site's files as they are kept with a case; hundreds of cases keep the same ones."""

from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import TypeVar, cast

from pydantic import BaseModel

from assistant.files.yaml_files import read_yaml
from assistant.journal.folder import KEPT_SITE

M = TypeVar("M", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class _Content:
    """What is in a file, wherever that lies."""

    content: bytes
    path: Path = field(compare=False)


def read_kept(case: Path, name: str, model: type[M]) -> M:
    """One of them in its model, read once for all cases that have the same. Raises BadInput."""
    path = case / KEPT_SITE / name
    try:
        content = path.read_bytes() if path.is_file() else b""
    except OSError:
        content = b""
    if not content:
        return read_yaml(path, model)  # which says what is wrong
    return cast("M", _read(_Content(content, path), model))


@lru_cache(maxsize=16)
def _read(file: _Content, model: type[BaseModel]) -> BaseModel:
    return read_yaml(file.path, model)
