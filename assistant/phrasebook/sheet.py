"""What is listened for, as a team reads it: the answers to each item, and what else may be said."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from assistant.brief.decisions import SiteDecisions
from assistant.brief.items import AnyItem
from assistant.brief.states import State
from assistant.grammar.grammar import SLOT
from assistant.phrasebook.phrasebook import Phrasebook

CALLED = {
    "confirm": "settles it",
    "plain_yes": "settles it, if said soon after the call",
    "bare_yes": "settles nothing here",
    "not_applicable": "does not apply",
    "decline": "not yet",
    "denied": "it is not so",
    "number": "a number",
    "allergen": "is read back",
    "choose": "a choice",
    "name": "a role",
    "feature": "is true of this patient",
    "no_feature": "nothing, or nothing else",
}
"""The meanings that answer an item, in plain words."""
USUAL = {
    "confirm": "a full yes",
    "plain_yes": "a yes in passing",
    "decline": "a usual not yet",
    "yes_first": "before a yes or a choice",
    "yes_last": "after more than a yes",
    "no_first": "before a not yet",
    "no_last": "after a not yet",
    "hesitations": "before any answer",
}
"""What stands in a list for the words of that meaning that are the same to every item."""
_READ_BACK = "is read back, if said soon after the call"
"""A yes in passing to a vital item."""


@dataclass(frozen=True, slots=True)
class Answers:
    """An item and what answers it, by meaning, each with its phrases; for a slot stands "…"."""

    item: AnyItem
    phrases: dict[str, tuple[str, ...]]

    def rows(self, usual: Mapping[str, Sequence[str]]) -> Iterator[tuple[str, tuple[str, ...]]]:
        """What each meaning is called, and its phrases; the usual ones by the name of their list,
        with those of them that it does not take."""
        for meaning, phrases in self.phrases.items():
            vital = meaning == "plain_yes" and self.item.doubts_a_plain_yes
            of = ("confirm", "plain_yes") if meaning == "bare_yes" else (meaning,)
            lists = {name: usual[name] for name in of if name in usual}
            named = [_named(name, words, phrases) for name, words in lists.items()]
            listed = {one for words in lists.values() for one in words}
            own = (one for one in phrases if one not in listed)
            yield _READ_BACK if vital else CALLED[meaning], (*filter(None, named), *own)


def _named(name: str, usual: Sequence[str], phrases: Sequence[str]) -> str:
    """The name of a list, where any of it is among the phrases."""
    others = [f'"{one}"' for one in usual if one not in phrases]
    if len(others) == len(usual):
        return ""
    return " except ".join(filter(None, (USUAL[name], ", ".join(others))))


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
            answers_it = pattern.meaning in (*item.answered_by, "confirm", "bare_yes")
            if pattern.for_me and answers_it and not pattern.is_longer:
                grouped.setdefault(pattern.meaning, []).append(pattern.words)
        phrases = {name: tuple(map(_shown, grouped[name])) for name in CALLED if name in grouped}
        yield Answers(item, phrases)


def usual(site: SiteDecisions) -> dict[str, tuple[str, ...]]:
    """What answers most items in the same words, by meaning: it is listed once."""
    said = site.wording.may_be_said
    return {name: tuple(found) for name in USUAL if (found := getattr(said, name))}


def any_time(site: SiteDecisions) -> dict[str, tuple[str, ...]]:
    """What may be said besides answers, by meaning."""
    said = site.wording.may_be_said
    not_by_itself = (*CALLED, *USUAL, "blood_pressure", "room_talk", "takes_back")
    names = [name for name in type(said).model_fields if name not in not_by_itself]
    found = {name: tuple(map(_shown, found)) for name in names if (found := getattr(said, name))}
    for meaning in ("brief", "feature_told", "feature_denied", "first_steps"):
        named = [words for _, means, _, words in site.brief.named() if means == meaning]
        found[meaning] = tuple(chain(*named))
    return found


def _shown(words: str) -> str:
    return SLOT.sub("…", words)
