"""What is listened for, as a team reads it: the answers to each item, and what else may be said."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.brief.decisions import SiteDecisions
from assistant.brief.items import AnyItem
from assistant.brief.states import State
from assistant.phrasebook.phrasebook import Phrasebook

CALLED = {
    "confirm": "settles it",
    "plain_yes": "settles it, said soon after the call",
    "bare_yes": "settles nothing here",
    "not_applicable": "does not apply",
    "decline": "not yet",
    "denied": "it is not so",
    "number": "a number",
    "choose": "a choice",
    "name": "a role",
    "feature": "is so of this patient",
    "no_feature": "nothing, or nothing else",
}
"""The meanings that answer an item, in plain words."""


@dataclass(frozen=True, slots=True)
class Answers:
    """An item and what answers it, by meaning, each with its phrases; slots stand in braces."""

    item: AnyItem
    phrases: dict[str, tuple[str, ...]]


def answers(site: SiteDecisions, item_id: str | None = None) -> Iterator[Answers]:
    """Each item of the brief with what answers it; only one, when that is named.

    Raises KeyError when the brief has no such item.
    """
    book = Phrasebook(site)
    items: Iterable[AnyItem] = (
        site.brief.items() if item_id is None else (site.brief.item(item_id),)
    )
    for item in items:
        grouped: dict[str, list[str]] = {}
        for pattern in book.heard_in(State.ASKING, item).patterns:
            if pattern.for_me and pattern.meaning in (*item.answered_by, "confirm", "bare_yes"):
                grouped.setdefault(pattern.meaning, []).append(pattern.words)
        phrases = {name: tuple(grouped[name]) for name in CALLED if name in grouped}
        yield Answers(item, phrases)


def any_time(site: SiteDecisions) -> dict[str, tuple[str, ...]]:
    """What may be said besides answers, by meaning."""
    said = site.wording.may_be_said
    not_by_itself = (*CALLED, "room_talk", "takes_back")
    names = [name for name in type(said).model_fields if name not in not_by_itself]
    found = {name: tuple(getattr(said, name)) for name in names if getattr(said, name)}
    briefs = tuple(words for one in site.brief.briefs for words in one.said)
    features = tuple(words for one in site.brief.features for words in one.told)
    return found | {"brief": briefs, "feature_told": features}
