"""Events as the record stores them: a name, a version, and the values."""

from collections.abc import Mapping
from dataclasses import fields
from enum import Enum
from types import MappingProxyType
from typing import Any, Final

from pydantic import ValidationError

from assistant.brief.events import asides, asking, course, vital
from assistant.brief.events.base import Event


class UnreadableEvent(ValueError):  # noqa: N818 - it says what is wrong
    """An event of the record that this program does not know; the text says why."""


def _events_in(module: object) -> list[type[Event]]:
    found = [one for one in vars(module).values() if isinstance(one, type)]
    return [one for one in found if issubclass(one, Event) and "name" in vars(one)]


EVENTS: Final[Mapping[str, type[Event]]] = MappingProxyType(
    {one.name: one for module in (asking, asides, course, vital) for one in _events_in(module)}
)
"""Every event by its name in the record."""


def stored(event: Event) -> dict[str, Any]:
    """The values of an event as a row of the record holds them."""
    values = {one.name: getattr(event, one.name) for one in fields(event)}
    plain = {name: one.value if isinstance(one, Enum) else one for name, one in values.items()}
    return {"event": event.name, "version": event.version, **plain}


def read_stored(data: Mapping[str, Any]) -> Event:
    """The event that a row's values describe.

    Rows from before versions were written count as the first version. Raises UnreadableEvent for
    one of a later version, one with a name that is not known, or one with wrong values.
    """
    values = dict(data)
    name, version = values.pop("event"), values.pop("version", 1)
    kind = EVENTS.get(str(name))
    if kind is None:
        raise UnreadableEvent(f"an event called {name!r}, which this version does not know")
    if not isinstance(version, int) or version > kind.version:
        raise UnreadableEvent(f"{name} of version {version}; this program knows {kind.version}")
    try:
        return kind(**values)
    except ValidationError as fault:
        wrong = fault.errors()[0]
        where = ".".join(str(step) for step in wrong["loc"])
        raise UnreadableEvent(f"{name} with a wrong value ({where}: {wrong['msg']})") from fault
