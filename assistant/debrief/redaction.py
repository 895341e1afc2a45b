"""A case without its people, its place and its dates: what may be shown to others.

People of the site's roster become "person A", "person B"; a note says what each was named for. Wall
times go, elapsed times stay. What was heard and not taken was never kept.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, get_args

from assistant.brief.brief import Brief
from assistant.debrief.timeline import Timeline
from assistant.journal.rows import Row
from assistant.language.denials import denied_in
from assistant.language.tongue import Language

CASE, SITE = "a case", "a site's brief"


def redacted(timeline: Timeline) -> Timeline:
    """The same case, with nothing in it that names a person, a place or a date."""
    hide = _Names(timeline)
    meta = replace(timeline.meta, case=CASE, site=SITE, boot="", started_wall="")
    entries = [
        replace(
            one,
            wall="",
            # Whatever a facilitator types may name somebody.
            text="" if one.who == "facilitator" else hide.text(one.text),
            why=None if one.why is None else hide.text(one.why),
            values=hide.values(one.values),
        )
        for one in timeline.entries
    ]
    brief = timeline.brief
    notes = [*(hide.text(one) for one in timeline.notes), *hide.roles(timeline.rows)]
    return replace(
        timeline,
        meta=meta,
        rows=tuple(hide.row(row) for row in timeline.rows),
        brief=None if brief is None else brief.model_copy(update={"name": SITE}),
        entries=tuple(entries),
        notes=tuple(notes),
    )


def redacting(timeline: Timeline) -> Callable[[str], str]:
    """What does the same to any words about that case."""
    return _Names(timeline).text


def _means_nobody(said: str) -> bool:
    """Whether a word of the roster names no person: "nobody", "no one yet"; and not "dr no"."""
    first = said.split()[:1]
    return any([denied_in(said, one)] == first for one in get_args(Language))


class _Names:
    """What is taken out of words, and what stands there instead."""

    def __init__(self, timeline: Timeline) -> None:
        meta = timeline.meta
        self._instead = {meta.case: CASE, meta.site: SITE}
        self._ids: dict[str, str] = {}
        items = () if timeline.brief is None else timeline.brief.items()
        self._labels = {item.id: item.label for item in items}
        if timeline.brief is not None:
            self._people(timeline.brief)
        longest_first = sorted(filter(None, self._instead), key=len, reverse=True)
        words = "|".join(re.escape(one) for one in longest_first)
        self._pattern = re.compile(rf"(?<!\w)(?:{words})(?!\w)", re.IGNORECASE)
        self._instead = {name.casefold(): other for name, other in self._instead.items()}

    def _people(self, brief: Brief) -> None:
        for number, one in enumerate(brief.roster):
            if all(_means_nobody(said) for said in one.said):
                continue  # "nobody" is also what the record says where nobody answered
            person = f"person {chr(ord('A') + number % 26)}{number // 26 or ''}"
            self._ids[one.id] = person
            # Short forms such as "me" are ordinary words; they name nobody.
            for name in (one.called, *(said for said in one.said if len(said) > 2)):
                self._instead[name] = person

    def text(self, text: str) -> str:
        return self._pattern.sub(lambda found: self._instead[found.group().casefold()], text)

    def values(self, values: Mapping[str, Any]) -> dict[str, Any]:
        return {name: self._value(value) for name, value in values.items()}

    def row(self, row: Row) -> Row:
        kept = {"event", "item", "open_items", "clock"}  # the case is folded from these
        data = {
            name: value if name in kept else self._value(value) for name, value in row.data.items()
        }
        return replace(row, wall="", text=self.text(row.text), data=data)

    def roles(self, rows: Iterable[Row]) -> Iterator[str]:
        """What each person was named for, in whole sentences."""
        named: dict[str, list[str]] = {}
        for row in rows:
            person = self._ids.get(str(row.data.get("value")))
            if person is not None and row.data.get("event") == "answered" and row.item:
                named.setdefault(person, []).append(self._labels.get(row.item, row.item))
        for person, items in sorted(named.items()):
            each_once = ", ".join(dict.fromkeys(items))
            yield f"{person[0].upper()}{person[1:]} was named for: {each_once}."

    def _value(self, value: Any) -> Any:
        if isinstance(value, str):
            return self._ids.get(value, self.text(value))
        if isinstance(value, Mapping):
            return self.values(value)
        return [self._value(one) for one in value] if isinstance(value, list) else value
