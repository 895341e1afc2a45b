"""The wall clock beside what was said, as the machine that writes the report has its local time."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from assistant.debrief.entries import TimelineEntry

UNTRUSTED = "?"
"""Stands after a time by a clock that was not synchronised."""


def wall_times(entries: Sequence[TimelineEntry]) -> Iterator[str]:
    """Of each entry its local time to the second, with the date where another day begins.

    Empty where there is none, as where dates are taken out.
    """
    day: date | None = None
    for one in entries:
        at = _local(one)
        if at is None:
            yield ""
            continue
        told = f"{at:%H:%M:%S}"
        if at.date() != day:
            told = f"{at.date()} {told}".replace("-", "\N{NON-BREAKING HYPHEN}")
        day = at.date()
        yield told if one.wall_trusted else f"{told} {UNTRUSTED}"


def zone(entries: Sequence[TimelineEntry]) -> str:
    """Which local time that is: "UTC+09:00"; empty when no entry has a time."""
    at = next((at for one in entries if (at := _local(one)) is not None), None)
    offset = "" if at is None else f"{at:%z}"
    return f"UTC{offset[:3]}:{offset[3:]}" if offset else ""


def _local(one: TimelineEntry) -> datetime | None:
    try:
        at = datetime.fromisoformat(one.wall)
    except ValueError:
        return None
    # What was heard is dated after its end.
    heard_s = (one.lasts_s or 0.0) if one.who == "team" else 0.0
    return (at - timedelta(seconds=heard_s)).astimezone()
