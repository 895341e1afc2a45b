"""What lies in a site's folder, and what of it nobody reads."""

from collections.abc import Iterator
from pathlib import Path

from assistant.errors import BadInput
from assistant.files.known_keys import likely_one
from assistant.files.plain_text import MOST_BYTES

READ = (
    *("brief.yaml", "formulary.yaml", "figures.yaml", "oximeter.yaml", "wording.yaml"),
    *("hearing.yaml", "panel.yaml", "glance.yaml", "record.yaml", "signature.yaml"),
)
"""All that is ever read of a site."""


def files_of(folder: Path) -> dict[str, bytes]:
    """The content of each YAML file, by its name, in the order of the names.

    Left out is what could not be read as one: a link that leads nowhere, as an editor lays beside
    a file that is being changed, a folder, a pipe, a file that is longer than any that is read.
    """
    files = (one for one in sorted(folder.glob("*.yaml")) if one.is_file())
    return {one.name: one.read_bytes() for one in files if one.stat().st_size <= MOST_BYTES}


def unread(folder: Path) -> tuple[Path, ...]:
    """The files and folders in a site's folder that nothing reads."""
    return tuple(path for path in sorted(folder.iterdir()) if path.name not in READ)


def misnamed(folder: Path) -> Iterator[BadInput]:
    """A complaint for each file that is likely one of those under another name: `glance.yml`."""
    there = {path.name for path in folder.iterdir()}
    for path in unread(folder):
        if path.suffix in (".yaml", ".yml"):
            likely = likely_one(path.stem, [Path(name).stem for name in READ if name not in there])
            if likely is not None:
                yield BadInput.in_file(
                    path, found="a file that nothing reads", allowed=f"its name as {likely}.yaml"
                )
