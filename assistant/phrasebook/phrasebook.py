"""What may be said now: the site's phrases, narrowed to the state of the case."""

from collections.abc import Collection, Iterable, Iterator

from assistant.brief.agenda import NOTHING_BESIDE, Beside, doubted_wave, told_beside
from assistant.brief.case import Case
from assistant.brief.decisions import SiteDecisions
from assistant.brief.items import AnyItem
from assistant.brief.states import ANSWER, DIGITS, LATE, QUESTIONS, STATES, State
from assistant.grammar.grammar import SLOT, Filler, Grammar, Pattern
from assistant.phrasebook.around import addressed, answers_in_more_words
from assistant.phrasebook.beside import told_of, wave_there, weight_put_right
from assistant.phrasebook.item_answers import answers_of, denied, is_unheard
from assistant.phrasebook.sense import takes_a_number
from assistant.phrasebook.site_phrases import SitePhrases
from assistant.phrasebook.slots import Slots

_ANSWERED = frozenset(
    {
        *(State.ASKING, State.CHECKING, State.QUOTING, State.STATING, State.MIXING),
        *(State.CLOSING, State.DOUBTING, State.IDENTIFYING, State.PAUSING),
    }
)
"""The states in which an answer is awaited, so that whoever speaks most likely means the asker."""
_Key = tuple[State, str | None, bool, tuple[tuple[str, ...], ...]]
"""What a grammar goes by: see `Phrasebook.heard_in`."""


def _id(item: AnyItem | None) -> str | None:
    return None if item is None else item.id


class Phrasebook:
    """Builds the grammar of each state once, from the site's brief, formulary and wording."""

    def __init__(self, site: SiteDecisions) -> None:
        self._site = site
        self._slots = Slots(site)
        self._built: dict[_Key, Grammar] = {}
        self._phrases = SitePhrases(site)
        self._decoys = tuple(self._phrases.not_now())

    def now(self, case: Case) -> Grammar:
        """What may be said in this case now; the same object for the same state and item."""
        digits = DIGITS in STATES[case.state].hears and takes_a_number(case)
        item = doubted_wave(case) or case.current
        return self.heard_in(case.state, item, digits=digits, beside=told_beside(case))

    def heard_in(
        self,
        state: State,
        item: AnyItem | None,
        *,
        digits: bool = False,
        beside: Beside = NOTHING_BESIDE,
    ) -> Grammar:
        """What may be said in that state while that item is asked, and of those `beside` it: see
        `now`, and `patterns`."""
        key = (state, _id(item), digits, beside.ids)
        if key not in self._built:
            wording = self._site.wording
            may_be_said = wording.may_be_said
            patterns = self.patterns(state, item, digits=digits)
            known = {one.words for one in (*self._decoys, *patterns)}
            patterns += list(answers_in_more_words(patterns, may_be_said, known))
            said = {one.words for one in patterns}
            others = told_of(beside, self._site.brief, may_be_said)
            patterns += [one for one in others if one.words not in said]
            if "weight" in STATES[state].hears:
                words = {one.words for one in patterns}
                patterns += weight_put_right(self._site.brief, may_be_said, words)
            patterns = list(addressed(patterns, wording.address, answered=state in _ANSWERED))
            tenths = item is not None and item.in_tenths
            self._built[key] = self._grammar(patterns, tenths=tenths)
        return self._built[key]

    def patterns(self, state: State, item: AnyItem | None, *, digits: bool) -> list[Pattern]:
        """What may be said in a state while this item is asked, with `{slots}`.

        `digits` says whether the digits of a number are awaited, or another one may be told in
        place of the one that was read back. A phrase that stands twice in a site stands twice here
        too.
        """
        patterns = [
            one
            for one in _counting_first(self._patterns(STATES[state].hears, item), state)
            if item is None or not is_unheard(one.words, one.meaning, item)
        ]
        return patterns + (list(self._phrases.numbers()) if digits else [])

    def answers(self, state: State, item: AnyItem) -> list[Pattern]:
        """The part of `patterns` that answers the item; nothing where no answers are heard."""
        hears = STATES[state].hears
        found = self._answers(item, hears) if ANSWER in hears else ()
        return [one for one in found if not is_unheard(one.words, one.meaning, item)]

    def fillers(self, slot: str) -> tuple[Filler, ...]:
        """What may stand in a slot; nothing when the site has nothing for it."""
        return self._slots.fillers(slot)

    def between_cases(self) -> Grammar:
        """What may be said while no case is at hand."""
        return self._grammar(self._phrases.say("new_case"))

    def when_asking(self, kind: str) -> Grammar:
        """What may be said while an item of that kind is asked, whichever item it is.

        `number` takes any whole number from 0 to 300, `question` only questions, `anything`
        everything that the site ever listens for.
        """
        items = [item for item in self._site.brief.items() if item.kind == kind]
        if kind == "question":
            return self._grammar(self._patterns((*QUESTIONS, "why", "left", "repeat"), None))
        if kind == "number":
            return self._grammar((*self._phrases.numbers(), *self._phrases.say("decline")))
        allowed: Collection[str] = STATES[State.ASKING].hears
        if kind == "anything":
            items = list(self._site.brief.items())
            allowed = dict.fromkeys(name for row in STATES.values() for name in row.hears)
        patterns = [pattern for item in items for pattern in self._patterns((ANSWER,), item)]
        # What confirms one item and is a bare yes to another is listened for as the former.
        patterns.sort(key=lambda pattern: pattern.meaning != "bare_yes")
        return self._grammar(patterns + self._patterns(allowed, None))

    def _grammar(self, patterns: Iterable[Pattern], *, tenths: bool = False) -> Grammar:
        # One phrase may answer several items of a kind; it is listened for once.
        by_words = {pattern.words: pattern for pattern in (*self._decoys, *patterns)}
        slots = dict.fromkeys(slot for words in by_words for slot in SLOT.findall(words))
        fillers = {slot: self._slots.fillers(slot) for slot in slots}
        if tenths and "number" in fillers:
            fillers["number"] += self._slots.tenths
        possible = [
            pattern
            for pattern in by_words.values()
            if all(fillers[slot] for slot in SLOT.findall(pattern.words))
        ]
        return Grammar(tuple(possible), {slot: of for slot, of in fillers.items() if of})

    def _patterns(self, allowed: Collection[str], item: AnyItem | None) -> list[Pattern]:
        found: list[Pattern] = []
        for meaning in allowed:
            if meaning == ANSWER:
                found += () if item is None else self._answers(item, allowed)
            elif meaning == "denied":
                # Not a plain no, where something else is asked.
                no = self._site.wording.may_be_said.decline
                own = () if item is None else denied(item)
                found += [one for one in own if one.words not in no]
            elif meaning == "wave_there":
                # What confirms the wave that is asked for, while its "no wave" is asked back.
                found += [] if item is None or not item.denied_plainly else wave_there(item)
            elif meaning not in (DIGITS, LATE):
                found += self._phrases.say(meaning)
        return found

    def _answers(self, item: AnyItem, allowed: Collection[str]) -> Iterator[Pattern]:
        # What was read back counts after any yes, also where a telling one was wanted.
        any_yes = "confirm" in allowed
        return answers_of(item, self._phrases, self._site.brief, any_yes=any_yes)


def _counting_first(patterns: Iterable[Pattern], state: State) -> Iterator[Pattern]:
    """Without what would only be answered with the question that stands, where the same words count
    now: "ready" may be a yes here, and go on with a hold elsewhere."""
    waits, said = STATES[state].waits, set[str]()
    for one in patterns:
        if one.meaning not in waits or one.words not in said:
            yield one
        said.add(one.words)
