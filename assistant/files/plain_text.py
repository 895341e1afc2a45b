"""A whole text file of moderate size, and nothing else, whatever lies in its place."""

import re
import unicodedata
from pathlib import Path

from assistant.errors import BadInput
from assistant.files.named_files import in_place_of_a_file

MOST_BYTES = 1_000_000
"""The longest file of the example site has 60 000."""
_OF_ANOTHER_KIND = (
    (b"\xff\xfe", "text in UTF-16 or UTF-32"),
    (b"\xfe\xff", "text in UTF-16"),
    (b"PK\x03\x04", "a packed file, as word processors and tables write"),
    (b"%PDF", "a PDF"),
)
_MARK = "\ufeff"
"""Editors of some systems put it at the beginning of UTF-8; it is no part of the text."""
_NOT_SEEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\xa0\xad\u061c\u180e\u2000-\u200f\u2028-\u202f\u205f-\u206f"
    "\ufeff\ufff9-\ufffb]"
)
"""Signs that are no ordinary space, tab or end of a line, and that nobody sees in an editor."""


def unseen_sign(text: str) -> str | None:
    """The first sign that cannot be seen, by its number and its name; None without one."""
    found = _NOT_SEEN.search(text)
    if found is None:
        return None
    sign = found.group()
    name = unicodedata.name(sign, "a control character").lower()
    return f"a sign that cannot be seen, U+{ord(sign):04X} ({name})"


def read_text(path: Path, allowed: str) -> str:
    """The whole text. Raises BadInput as `decoded`, and for signs that cannot be seen.

    Whoever reads the file would miss them.
    """
    text = decoded(path, allowed)
    unseen = unseen_sign(text)
    if unseen is not None:
        line = next(number for number, one in enumerate(text.split("\n"), 1) if unseen_sign(one))
        raise BadInput.in_file(path, line=line, found=unseen, allowed="signs that can be seen")
    return text


def decoded(path: Path, allowed: str) -> str:
    """The whole text. Raises BadInput for what is no file of a moderate size in UTF-8."""
    instead = in_place_of_a_file(path)
    if instead is not None:
        raise BadInput.in_file(path, found=instead, allowed=allowed)
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as fault:
        found = f"a file that cannot be read ({fault.strerror})"
        raise BadInput.in_file(path, found=found, allowed=allowed) from fault
    return text_of(content, path, allowed)


def text_of(content: bytes, path: Path, allowed: str) -> str:
    """The same of what was read already, of a file of that name."""
    if len(content) > MOST_BYTES:
        most = f"{MOST_BYTES // 1000} kB"
        raise BadInput.in_file(
            path, found=f"more than {most}", allowed=f"{allowed} of at most {most}"
        )
    try:
        return content.decode().removeprefix(_MARK)
    except UnicodeDecodeError as fault:
        kind = next((kind for first, kind in _OF_ANOTHER_KIND if content.startswith(first)), None)
        raise BadInput.in_file(
            path,
            line=content.count(b"\n", 0, fault.start) + 1 if kind is None else None,
            found=kind or "bytes that are no UTF-8",
            allowed=f"{allowed} in UTF-8",
        ) from fault
