"""The entries of a time-line, made from the rows of a case's records."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from assistant.journal import rows as journal_rows
from assistant.journal.journal import CaseMeta
from assistant.journal.rows import Kind, Who
from assistant.oximeter.record import WatcherRow


@dataclass(frozen=True, slots=True)
class TimelineEntry:
    """One thing that was said, heard, heard but ignored, or that happened."""

    at_s: float | None
    """From the start of the case; None when it cannot be placed."""
    wall: str
    wall_trusted: bool
    who: Who
    kind: Kind
    text: str
    meaning: str | None = None
    """Of speech, what it was taken for; of an event, its name; of a call, why it was made."""
    item: str | None = None
    confidence: float | None = None
    verdict: str | None = None
    """Of an utterance: `accept`, `ask` or `ignore`."""
    why: str | None = None
    """Of an utterance that was not accepted."""
    voice: str | None = None
    """Of an utterance: `near`, or `other` for one from farther away; None where nobody knows."""
    lasts_s: float | None = None
    """How long it was to be heard, where that is known."""
    values: Mapping[str, Any] = field(default_factory=dict)
    """The numbers and names that came with it."""

    @property
    def unheard(self) -> bool:
        """Of the watcher's calls: it did not come from its loudspeaker."""
        return (self.who, self.kind, self.lasts_s) == ("watcher", "said", 0.0)


def of_journal(meta: CaseMeta, row: journal_rows.Row) -> TimelineEntry:
    """A row of the conversation's record."""
    data = dict(row.data)
    event = data.pop("event", None)
    data.pop("version", None)
    spoken = row.kind in ("heard", "ignored")
    return TimelineEntry(
        at_s=round(row.mono_s - meta.started_mono_s, 2),
        wall=row.wall,
        wall_trusted=row.wall_trusted,
        who=row.who,
        kind=row.kind,
        text=row.text,
        meaning=row.meaning or event,
        item=row.item,
        confidence=row.confidence,
        verdict=data.get("verdict") if spoken else None,
        why=(data.get("why") or None) if spoken else None,
        voice=_voice(data) if spoken else None,
        lasts_s=_lasts_s(row, data),
        values=data.get("values", {}) if spoken else data,
    )


def _voice(data: Mapping[str, Any]) -> str | None:
    voice = data.get("voice")  # records from before it was judged have none
    return voice if voice in ("near", "other") else None


def _lasts_s(row: journal_rows.Row, data: Mapping[str, Any]) -> float | None:
    if row.kind == "said":
        return data.get("lasts_s")
    ended_s = data.get("ended_s")
    return round(ended_s - row.mono_s, 2) if isinstance(ended_s, float) else None


def unspoken(entries: Iterable[TimelineEntry]) -> Iterator[TimelineEntry]:
    """The conversation's entries in order; an item that was put off though nobody spoke, an offer
    that was met with silence, says so."""
    spoken = False
    for one in entries:
        if one.kind in ("heard", "said"):
            spoken = one.kind == "heard"
        if one.kind == "event" and one.meaning == "deferred" and not spoken:
            label = one.text.partition(":")[0]
            yield replace(one, text=f"{label}: nobody answered", meaning="not-answered")
        else:
            yield one


def of_watcher(at_s: float | None, row: WatcherRow) -> TimelineEntry:
    """A row of the watcher, placed at that time."""
    values = dict(row.data)
    return TimelineEntry(
        at_s=at_s,
        wall=row.wall,
        wall_trusted=row.wall_trusted,
        who="watcher",
        kind=row.kind,
        text=row.text,
        meaning=values.pop("kind", None),
        # Raw times of its clock are taken out: its own are `at_s` and how long the call lasted.
        lasts_s=_length_s(values),
        values=values,
    )


def of_facilitator(at_s: float | None, row: WatcherRow) -> TimelineEntry:
    """A row of the facilitator's, placed at that time."""
    values = dict(row.data)
    kind = values.pop("kind", None)
    return TimelineEntry(
        at_s, row.wall, row.wall_trusted, "facilitator", "event", row.text, kind, values=values
    )


def _length_s(values: dict[str, Any]) -> float | None:
    started_s, until_s = values.pop("started_s", None), values.pop("until_s", None)
    if isinstance(started_s, float) and isinstance(until_s, float):
        return round(max(0.0, until_s - started_s), 2)  # one that made no sound has ended before
    return None
