"""What was learnt of names, kept outside the site's files, by content and for this model."""

import hashlib
import json
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from assistant.files.cache import cached, keep


def write(folder: str, content: str, value: object) -> None:
    """Keep it in a file of its own; a full disk only forgets it."""
    keep(_path(folder, content), json.dumps(value).encode())


def read(folder: str, content: str) -> Any:
    """What was kept; None when nothing was, or it is torn."""
    try:
        return json.loads(_path(folder, content).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None


def _path(folder: str, content: str) -> Path:
    content = f"{content}\nmoonshine-voice {model_version()}"
    digest = hashlib.sha256(content.encode()).hexdigest()
    return cached(folder, f"{digest}.json")


@cache
def model_version() -> str:
    """Of the wheel with the model; it is read from the package's files, and asked for by dozens of
    names."""
    return version("moonshine-voice")
