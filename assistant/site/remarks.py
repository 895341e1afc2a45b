"""What `check` says of a site's files together: it is allowed, and somebody should look at it."""

import re
from collections.abc import Iterator

from pydantic import BaseModel

from assistant.brief.confirmed_items import PlanItem
from assistant.brief.decisions import SiteDecisions
from assistant.brief.items import AnyItem
from assistant.brief.phases import Phase
from assistant.brief.valued_items import NameItem
from assistant.dosing.known_names import unheard
from assistant.grammar.grammar import SLOT
from assistant.language.numbers_in_text import numbers_in, words_of
from assistant.language.told_words import listed_to_say, told_to_say
from assistant.phrasebook.slots import Slots
from assistant.site.phrase_places import phrase_places


def remarks(site: SiteDecisions) -> Iterator[str]:
    """A sentence for each of them."""
    yield from _told_in_vain(site)
    yield from _at_the_neck(site)
    yield from _another_number(site)
    yield from _twice_the_same_word(site)
    if site.wording.language == "en":  # in which the program knows the drugs' names
        names = unheard(site.formulary)
        if names:
            yield f"Not listened for, unless it stands under absent: {', '.join(names)}"


def _told_in_vain(site: SiteDecisions) -> Iterator[str]:
    """What people are told to say, and nobody is heard by."""
    language, heard = site.wording.language, _Heard(site)
    texts = dict(_texts(site.wording, "")) | dict(_texts(site.brief, ""))
    told = {key: list(told_to_say(text, language)) for key, text in texts.items()}
    told["says.help"] = list(listed_to_say(site.wording.says.help, language))
    for key, phrases in told.items():
        in_vain = [repr(one) for one in phrases if one not in heard]
        if in_vain:
            yield f"Tells people to say what is not heard: {', '.join(in_vain)}, in {key}"


class _Heard:
    """All that may be said, also with what stands in its slots."""

    def __init__(self, site: SiteDecisions) -> None:
        self._slots = Slots(site)
        phrases = {place.words for place in phrase_places(site)}
        self._plain = {_plainly(one) for one in phrases if not SLOT.search(one)}
        self._filled = [one for one in phrases if SLOT.search(one) and "{unit}" not in one]

    def __contains__(self, words: str) -> bool:
        return words in self._plain or any(self._fits(words, one) for one in self._filled)

    def _fits(self, words: str, phrase: str) -> bool:
        """Whether they are that phrase, with something for each slot."""
        apart = SLOT.split(phrase)  # its words, a slot's name, its words, …
        texts = [re.escape(one) for one in apart[::2]]
        found = re.fullmatch("(.+)".join(texts), words)
        return found is not None and all(
            any(_plainly(filler.words) == said for filler in self._slots.fillers(slot))
            for slot, said in zip(apart[1::2], found.groups(), strict=True)
        )


def _plainly(phrase: str) -> str:
    return " ".join(words_of(phrase))


def _texts(part: object, key: str) -> Iterator[tuple[str, str]]:
    """Every text with its key; what may be said among them, which tells nobody to say anything."""
    if isinstance(part, str):
        yield key, part
    elif isinstance(part, BaseModel):
        for name in type(part).model_fields:
            yield from _texts(getattr(part, name), f"{key}.{name}" if key else name)
    elif isinstance(part, tuple):
        for at, one in enumerate(part):
            yield from _texts(one, f"{key}.{at}")


def _at_the_neck(site: SiteDecisions) -> Iterator[str]:
    """All that the team hears when no oxygen gets in, where the brief asks nothing then."""
    if not any(site.brief.items_of(Phase.FRONT_OF_NECK)):
        text = site.wording.vital.cannot_oxygenate
        yield f"Said when no oxygen gets in (vital.cannot_oxygenate), and no more: {text!r}"


def _another_number(site: SiteDecisions) -> Iterator[str]:
    """A plan that names another number of attempts than the one that is agreed on."""
    tongue, at_most = site.wording.tongue, site.brief.attempts.at_most
    attempt = tongue.terms.attempt_clock.lower()
    for item in site.brief.items():
        for text in item.read_aloud if isinstance(item, PlanItem) else ():
            for one in numbers_in(text, tongue.numbers):
                counted = any(word.startswith(attempt) for word in one.then[:1])
                if counted and one.number != at_most:
                    yield f"At most {at_most} attempts are agreed on, and read aloud is: {text!r}"


def _twice_the_same_word(site: SiteDecisions) -> Iterator[str]:
    """ "Who is doing the the look": nobody would ask so."""
    for item in site.brief.items():
        if isinstance(item, NameItem):
            yield from _asked_after(item, site)


def _asked_after(item: AnyItem, site: SiteDecisions) -> Iterator[str]:
    for phrase in site.wording.may_be_said.who:
        before = phrase.partition("{task}")[0].split()
        if before[-1:] == item.label.split()[:1]:
            words = phrase.replace("{task}", item.label)
            yield f"A word twice in how people ask who does it: {words!r}, from called of {item.id}"
            return
