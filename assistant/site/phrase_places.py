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
    for section_at, section in enumerate(brief.sections):
        for item_at, item in enumerate(section.items):
            loc: Loc = ("sections", section_at, "items", item_at)
            yield from _of_item(loc, item)
    named = (
        ("roster", "said", "name", [one.said for one in brief.roster]),
        ("features", "said", "feature", [one.said for one in brief.features]),
        ("features", "told", "feature_told", [one.told for one in brief.features]),
        ("features", "denied_by", "feature_denied", [one.denied_by for one in brief.features]),
        ("briefs", "said", "brief", [one.said for one in brief.briefs]),
        ("first_steps", "said", "first_steps", [one.said for one in brief.first_steps]),
    )
    for part, key, meaning, lists in named:
        for at, phrases in enumerate(lists):
            yield from _listed(BRIEF, (part, at, key), phrases, meaning)
    for meaning in type(site.wording.may_be_said).model_fields:
        phrases = getattr(site.wording.may_be_said, meaning)
        yield from _listed(WORDING, ("may_be_said", meaning), phrases, meaning)


def _of_item(loc: Loc, item: AnyItem) -> Iterator[Place]:
    own = (
        ("confirmations", "confirm", item.telling_answers),
        ("plain_answers", "plain_yes", getattr(item, "plain_answers", ())),
        ("plain_noes", "plain_yes", getattr(item, "plain_noes", ())),
        ("does_not_apply", "not_applicable", item.own_exceptions),
        ("not_yet", "decline", item.not_yet),
        ("undone_by", "decline", item.undone_by),
        ("not_coming", "decline", item.given_up_by),
        ("denied_by", "denied", item.denied_plainly),
        ("nothing_said", "no_feature", item.nothing_more),
    )
    for key, meaning, phrases in own:
        yield from _listed(BRIEF, (*loc, key), phrases, meaning, item.id)
    for at, option in enumerate(getattr(item, "options", ())):
        yield from _listed(BRIEF, (*loc, "options", at, "said"), option.said, "choose", item.id)


def _listed(
    file: str, loc: Loc, phrases: tuple[str, ...], meaning: str, item: str | None = None
) -> Iterator[Place]:
    for at, words in enumerate(phrases):
        yield Place(file, (*loc, at), words, meaning, item)
