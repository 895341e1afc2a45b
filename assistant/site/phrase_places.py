"""Where in a site's files each thing that people may say stands."""

from collections.abc import Iterator
from typing import NamedTuple

from assistant.brief.decisions import SiteDecisions
from assistant.brief.items import AnyItem
from assistant.files.plain_yaml import Loc

BRIEF, WORDING = "brief.yaml", "wording.yaml"


class Place(NamedTuple):
    """One phrase of a site."""

    file: str
    loc: Loc
    words: str
    meaning: str
    item: str | None
    """Whose own it is."""

    @property
    def key(self) -> str:
        """The list that it stands in: "plain_answers"."""
        return next(step for step in reversed(self.loc) if isinstance(step, str))


def phrase_places(site: SiteDecisions) -> Iterator[Place]:
    """The items' own first: what a site adds is what it should change."""
    brief = site.brief
    for loc, _, item in brief.placed():
        yield from _of_item(loc, item)
    for loc, meaning, _, phrases in brief.named():
        yield from _listed(BRIEF, loc, phrases, meaning)
    for meaning in type(site.wording.may_be_said).model_fields:
        phrases = getattr(site.wording.may_be_said, meaning)
        yield from _listed(WORDING, ("may_be_said", meaning), phrases, meaning)


def _of_item(loc: Loc, item: AnyItem) -> Iterator[Place]:
    for key, meaning, phrases in item.own_phrases():
        yield from _listed(BRIEF, (*loc, key), phrases, meaning, item.id)
    for at, option in enumerate(getattr(item, "options", ())):
        yield from _listed(BRIEF, (*loc, "options", at, "said"), option.said, "choose", item.id)


def _listed(
    file: str, loc: Loc, phrases: tuple[str, ...], meaning: str, item: str | None = None
) -> Iterator[Place]:
    for at, words in enumerate(phrases):
        yield Place(file, (*loc, at), words, meaning, item)
