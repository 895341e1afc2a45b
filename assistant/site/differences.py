"""What differs between two versions of a site, for whoever signs the second."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from assistant.errors import BadInput
from assistant.files.named_files import stands_there
from assistant.files.plain_yaml import read_plain_yaml
from assistant.site.signature import NAME

_ORDER = " (order)"
_NEEDED = "brief.yaml"
"""What every site has: a mistyped folder would look like a new site to whoever signs it."""
_NAMES = ("id", "called", "sex", "place", "name", "holds")
"""What an entry of a list goes by, so that one that was put in between changes no other."""


def differences(before: Path, now: Path) -> Iterator[str]:
    """A line for each value that was changed, added or lost from one folder to the other.

    Comments and layout are not compared, nor the signatures. Raises BadInput for a folder that is
    none and for a file that is no YAML.
    """
    for folder in (before, now):
        must_be_a_site(folder)
    names = {file.name for folder in (before, now) for file in folder.glob("*.yaml")} - {NAME}
    for name in sorted(names):
        old, new = _values(before / name), _values(now / name)
        if old is None or new is None:
            yield f"{name}: {'added' if old is None else 'lost'}"
            continue
        for place in dict.fromkeys((*old, *new)):
            reordered = place.endswith(_ORDER)
            if reordered and sorted(old.get(place, ())) != sorted(new.get(place, ())):
                continue  # what was added or lost is told by itself
            if old.get(place) != new.get(place):
                yield f"{name}: {place}: {_told(old, place)} -> {_told(new, place)}"


def must_be_a_site(folder: Path) -> None:
    """Raises BadInput for a folder that is none, or that holds no site."""
    if not folder.is_dir():
        raise BadInput.in_file(folder, found="no such folder", allowed="a site's folder")
    if not stands_there(folder / _NEEDED):
        raise BadInput.in_file(folder, found=f"no {_NEEDED}", allowed="a site's folder")


def _values(path: Path) -> dict[str, Any] | None:
    """Each value of a file by its place; None without the file."""
    return dict(_leaves(read_plain_yaml(path).content, "")) if stands_there(path) else None


def _leaves(part: Any, at: str) -> Iterator[tuple[str, Any]]:
    if isinstance(part, dict) and part:
        for key, value in part.items():
            yield from _leaves(value, f"{at}/{key}" if at else str(key))
    elif isinstance(part, list) and any(isinstance(one, dict) for one in part):
        names = [_name(value, number) for number, value in enumerate(part)]
        for number, value in enumerate(part):
            twice = names[:number].count(names[number])
            name = f"{names[number]} ({twice + 1})" if twice else names[number]
            yield from _leaves(value, f"{at}/{name}")
        yield f"{at}{_ORDER}", names
    else:
        yield at, part


def _name(entry: Any, number: int) -> str:
    if isinstance(entry, dict):
        for key in _NAMES:
            if isinstance(entry.get(key), str):
                return str(entry[key])
    return str(number + 1)


def _told(values: dict[str, Any], place: str) -> str:
    """In full: what differs may stand at the end of a long sentence."""
    if place not in values:
        return "nothing"
    value = values[place]
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
