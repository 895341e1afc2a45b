"""What is wrong at a place of a site's file that was read, told in one sentence.

The checks that hold whole files against one another yield these; where the file lies, and on which
line the place stands, only matters when the sentence is made.
"""

from pathlib import Path
from typing import NamedTuple

from assistant.errors import BadInput
from assistant.files.plain_yaml import Loc
from assistant.files.yaml_files import line_in


class Fault(NamedTuple):
    """Something wrong in one file."""

    loc: Loc
    """Where, by keys and numbers from 0."""
    found: str
    allowed: str


def complaint(path: Path, fault: Fault) -> BadInput:
    """The fault with its file, line and key; without a line where the file is not there."""
    line = line_in(path, *fault.loc) if path.is_file() else None
    key = ".".join(str(step) for step in fault.loc) or None
    return BadInput.in_file(path, line=line, key=key, found=fault.found, allowed=fault.allowed)
