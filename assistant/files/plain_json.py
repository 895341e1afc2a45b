"""JSON that somebody else may have written."""

import json
from typing import Any


def read_json(text: str | bytes) -> Any:
    """What it holds. Raises ValueError where it is no JSON, also for lists and keys that stand
    within one another so deep that Python gives up."""
    try:
        return json.loads(text)
    except RecursionError as fault:
        raise ValueError("lists and keys within one another without end") from fault
