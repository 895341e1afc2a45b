"""What people may say by the site's wording and brief, whatever is asked, by its meaning."""

from collections.abc import Iterable, Iterator

from assistant.brief.decisions import SiteDecisions
from assistant.brief.meanings import MEANINGS
from assistant.brief.states import STATES, VITAL
from assistant.grammar.grammar import NOTHING, Danger, Pattern, Values
from assistant.language.verbs import holds_auxiliary
from assistant.speaking.may_be_said import MayBeSaid


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
        said = self.may_be_said
        if meaning not in MayBeSaid.model_fields:
            slot = "feature" if meaning.startswith("feature_") else meaning
            own = ((one, words) for _, means, one, words in self._brief.named() if means == meaning)
            yield from named(meaning, slot, own)
            return
        phrases = getattr(said, meaning)
        if meaning == "number":
            phrases = (*phrases, *said.number_instead, *said.number_again)
        for phrase in phrases:
            danger = _danger_of(meaning, phrase)
            for words in with_units(phrase, unit_said):
                yield Pattern(
                    words,
                    meaning,
                    danger=danger,
                    only_yes=meaning == "plain_yes",
                    is_asked_back=meaning in VITAL and holds_auxiliary(words),
                )


def _danger_of(meaning: str, phrase: str) -> Danger:
    """Of that phrase of the wording, by what it means."""
    if "{weight_kg}" in phrase:
        return Danger.READ_BACK  # a weight is named with the drug
    if meaning == "hold" and " " in phrase:
        # Nearly all that is heard as a hold by mistake is heard as one of several words: "two
        # seconds" of "tube's fixed". Of 86 such 24 are left, and of 51 that were said 50.
        return Danger.USUAL
    return MEANINGS[meaning].danger


def with_units(phrase: str, units: Iterable[str]) -> Iterator[str]:
    """The phrase with each of these units in the place of its `{unit}`; as it is without one."""
    for unit in units if "{unit}" in phrase else ("",):
        yield phrase.replace("{unit}", unit)


def meant(meaning: str, phrases: Iterable[str], values: Values = NOTHING) -> Iterator[Pattern]:
    """What has that meaning, whatever its words."""
    for words in phrases:
        yield Pattern(words, meaning, values, MEANINGS[meaning].danger)


def named(
    meaning: str, slot: str, phrases: Iterable[tuple[str, Iterable[str]]]
) -> Iterator[Pattern]:
    """What names one of several: each with its id, which becomes the value of that slot."""
    for name, said in phrases:
        yield from meant(meaning, said, {slot: name})
