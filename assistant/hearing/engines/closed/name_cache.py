"""What was learnt of names, kept outside the site's files, by content and for this model."""

import hashlib
import json
from contextlib import suppress
from importlib.metadata import version
from pathlib import Path
from typing import Any

import platformdirs


def write(folder: str, content: str, value: object) -> None:
    """Keep it in a file of its own; a full disk only forgets it."""
    path = _path(folder, content)
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(value), encoding="utf-8")


def read(folder: str, content: str) -> Any:
    """What was kept; None when nothing was, or it is torn."""
    try:
        return json.loads(_path(folder, content).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None


def _path(folder: str, content: str) -> Path:
    content = f"{content}\nmoonshine-voice {version('moonshine-voice')}"
    digest = hashlib.sha256(content.encode()).hexdigest()
    return platformdirs.user_cache_path("spoken-brief") / folder / f"{digest}.json"
