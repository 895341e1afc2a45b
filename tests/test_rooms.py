"""The rooms of the assistant, and that data flows one way through them."""

import ast
from collections.abc import Iterator
from pathlib import Path

ASSISTANT = Path(__file__).parents[1] / "assistant"
ORDER = (
    *("errors", "chain", "clock", "supervision"),
    *("files", "audio", "grammar", "language", "models", "hearing", "dosing", "oximeter"),
    *("speaking", "patient", "journal", "panel", "brief", "phrasebook", "site", "conversation"),
    *("debrief", "glance", "live", "rehearsal", "fitting", "commands"),
)
"""Each room may use those before it and none of those after it."""


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """The line and the room of each import of the assistant's own, wherever it stands."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("assistant."):
            yield node.lineno, str(node.module).split(".")[1]
        elif isinstance(node, ast.Import):
            for name in node.names:
                if name.name.startswith("assistant."):
                    yield node.lineno, name.name.split(".")[1]


def test_every_room_stands_in_the_order() -> None:
    """A new room has to say which of the others it may use."""
    rooms = {path.stem for path in ASSISTANT.glob("*.py")} | {
        path.name for path in ASSISTANT.iterdir() if (path / "__init__.py").is_file()
    }
    assert rooms - {"__init__", "__main__"} == set(ORDER)


def test_no_room_uses_one_that_comes_after_it() -> None:
    """Data flows one way, from the files and the sound to the commands."""
    against = [
        f"{path.relative_to(ASSISTANT)}:{line}: {room} uses {used}"
        for path in sorted(ASSISTANT.rglob("*.py"))
        if path.parent != ASSISTANT or path.stem in ORDER
        for room in [path.relative_to(ASSISTANT).parts[0].removesuffix(".py")]
        for line, used in imports(path)
        if ORDER.index(used) > ORDER.index(room)
    ]
    assert against == []
