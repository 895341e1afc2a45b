"""What people may say by the site's wording and brief, whatever is asked, by its meaning."""

from collections.abc import Iterable, Iterator

from assistant.brief.decisions import SiteDecisions
from assistant.brief.states import STATES, VITAL
from assistant.grammar.grammar import Danger, Pattern
from assistant.language.verbs import holds_auxiliary
from assistant.phrasebook.dangers import danger_of


class SitePhrases:
    """The phrases of a site, worked out once each."""

    def __init__(self, site: SiteDecisions) -> None:
        self.may_be_said = site.wording.may_be_said
        self._brief = site.brief
        self._worded: dict[tuple[str, tuple[str, ...]], tuple[Pattern, ...]] = {}
        units = (unit for item in site.brief.items() for unit in item.units_heard)
        self._units = tuple(dict.fromkeys(units))

    def say(self, meaning: str, unit_said: Iterable[str] = ()) -> tuple[Pattern, ...]:
        """The site's own words for it; worked out once, as they may be said in many states."""
        key = meaning, tuple(unit_said)
        if key not in self._worded:
            self._worded[key] = tuple(self._words_for(*key))
        return self._worded[key]

    def numbers(self) -> tuple[Pattern, ...]:
        """A number with the unit of any item, or with none."""
        return self.say("number", unit_said=self._units)

    def not_now(self) -> Iterator[Pattern]:
        """What is said in this room but means nothing now; the grammar of a state overrides it.

        A command or a confirmation out of place would otherwise be taken for whatever sounds most
        like it among the few phrases that make sense.
        """
        said = self.may_be_said
        phrases = [*said.room_talk]
        for meaning in dict.fromkeys(name for row in STATES.values() for name in row.hears):
            # Those with slots would make every grammar large for little gain.
            phrases += [words for words in getattr(said, meaning, ()) if "{" not in words]
        for item in self._brief.items():
            phrases += item.telling_answers
        for words in phrases:
            yield Pattern(words, "not_now", for_me=False)

    def _words_for(self, meaning: str, unit_said: tuple[str, ...]) -> Iterator[Pattern]:
        brief = self._brief
        if meaning == "brief":
            yield from named(meaning, "brief", ((one.id, one.said) for one in brief.briefs))
            return
        if meaning == "feature_told":
            yield from named(meaning, "feature", ((one.id, one.told) for one in brief.features))
            return
        if meaning == "feature_denied":
            denied = ((one.id, one.denied_by) for one in brief.features)
            yield from named(meaning, "feature", denied)
            return
        if meaning == "first_steps":
            yield from named(meaning, meaning, ((one.id, one.said) for one in brief.first_steps))
            return
        said = self.may_be_said
        phrases = getattr(said, meaning)
        if meaning == "number":
            phrases = (*phrases, *said.number_instead, *said.number_again)
        for phrase in phrases:
            danger = danger_of(meaning, phrase)
            for words in with_units(phrase, unit_said):
                yield Pattern(
                    words,
                    meaning,
                    danger=danger,
                    only_yes=meaning == "plain_yes",
                    is_asked_back=meaning in VITAL and holds_auxiliary(words),
                )


def with_units(phrase: str, units: Iterable[str]) -> Iterator[str]:
    """The phrase with each of these units in the place of its `{unit}`; as it is without one."""
    for unit in units if "{unit}" in phrase else ("",):
        yield phrase.replace("{unit}", unit)


def named(
    meaning: str,
    slot: str,
    phrases: Iterable[tuple[str, Iterable[str]]],
    danger: Danger = Danger.USUAL,
) -> Iterator[Pattern]:
    """What names one of several: each with its id, which becomes the value of that slot."""
    for name, said in phrases:
        for words in said:
            yield Pattern(words, meaning, {slot: name}, danger)
