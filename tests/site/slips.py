"""Slips of a site: one thing changed in what its files hold."""

from collections.abc import Callable
from typing import Any

Site = dict[str, Any]
"""The content of brief, wording and oximeter, by these names."""
Slip = tuple[str, Callable[[Site], object]]
"""What it is called, and what changes it in place."""


def item(site: Site, name: str) -> Site:
    """An item of the brief."""
    sections = site["brief"]["sections"]
    return next(one for section in sections for one in section["items"] if one["id"] == name)


def text(name: str, key: str, words: object) -> Slip:
    """Another text or setting of an item."""
    return f"{key} of {name}: {words!r}", lambda site: item(site, name).update({key: words})


def said(meaning: str, *phrases: str) -> Slip:
    """Other phrases for a meaning."""
    return (
        f"{meaning}: {phrases}",
        lambda site: site["wording"]["may_be_said"].update({meaning: list(phrases)}),
    )
