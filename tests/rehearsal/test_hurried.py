"""Quick people with others talking around them; and that every shipped rehearsal fits its site."""

from pathlib import Path
from typing import Any

import pytest

from assistant.rehearsal.scenario import read_scenario
from assistant.site.site import load_site
from tests.rehearsal.conftest import REHEARSALS
from tests.tarn_hollow import SITE

SITES = {"skerry-point": "skerry-point", "angae-gogae": "angae-gogae"}
"""The rehearsals that are not played at Tarn Hollow."""


@pytest.mark.parametrize("path", sorted(REHEARSALS.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_rehearsal_fits_its_site(path: Path) -> None:
    """Each item that it names is in that site's brief."""
    other = SITES.get(path.stem)
    site = SITE if other is None else load_site(REHEARSALS.parent / other)

    assert read_scenario(path, site).replies


@pytest.mark.slow
def test_hurried_people_are_heard_and_those_around_them_are_not(begin: Any, tmp_path: Path) -> None:
    """One holds it, one takes an answer back; the yes from across the bay settles nothing."""
    hurried = begin(tmp_path / "cases", "--times", str(REHEARSALS / "hurried.yaml"))
    try:
        played = hurried.finished()
    finally:
        hurried.kill()
    events = [one["meaning"] for one in played.entries("assistant", "event")]

    assert (played.code, played.complaints) == (0, ""), played.printed
    assert events.index("held") < events.index("resumed") < events.index("reopened")
    assert "median" in played.printed


@pytest.mark.slow
def test_the_immediate_brief_takes_less_than_a_minute(begin: Any, tmp_path: Path) -> None:
    """Of the room, from its first call to the pause before the drugs; no clock is waited for."""
    at_once = begin(tmp_path / "cases", str(REHEARSALS / "immediate.yaml"))
    try:
        played = at_once.finished()
    finally:
        at_once.kill()
    assert (played.code, played.complaints) == (0, ""), played.printed
    events = played.entries("assistant", "event")
    at_s = {one["meaning"]: one["at_s"] for one in reversed(events)}  # the first of each

    assert at_s["pause-begun"] - at_s["asked"] < 60
    assert len([one for one in events if one["meaning"] == "answered"]) >= 8
