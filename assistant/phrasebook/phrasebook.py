"""What may be said now: the site's phrases, narrowed to the state of the case."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import chain

from assistant.brief.agenda import NOTHING_BESIDE, Beside, doubted_wave, told_beside
from assistant.brief.brief import Feature
from assistant.brief.case import Case
from assistant.brief.decisions import SiteDecisions
from assistant.brief.item import Option
from assistant.brief.items import AnyItem
from assistant.brief.states import (
    ANSWER,
    ANY_TIME,
    COMMANDS_IN_DOUBT,
    DIGITS,
    INSTEAD,
    LATE,
    NOT_SO,
    QUESTIONS,
    STATES,
    VITAL,
    State,
)
from assistant.grammar.grammar import SLOT, Danger, Filler, Grammar, Pattern
from assistant.language.verbs import holds_auxiliary
from assistant.phrasebook.slots import Slots

_ANSWERED = frozenset(
    {
        *(State.ASKING, State.CHECKING, State.QUOTING, State.STATING, State.MIXING),
        *(State.CLOSING, State.DOUBTING, State.IDENTIFYING, State.PAUSING),
    }
)
"""The states in which an answer is awaited, so that whoever speaks most likely means the asker."""

_DANGER = {
    "confirm": Danger.HIGH,
    "plain_yes": Danger.PLAIN,
    "not_applicable": Danger.HIGH,
    "number": Danger.NUMBER,
    "dose": Danger.ANSWERED,
    "dose_low_pressure": Danger.ANSWERED,
    "volume": Danger.ANSWERED,
    "maximum": Danger.ANSWERED,
    "dose_again": Danger.ANSWERED,
    "mix": Danger.ANSWERED,
    "cylinder": Danger.ANSWERED,
    "allergen": Danger.NUMBER,  # a name that was asked for
    "excluded": Danger.HIGH,
    "new_case": Danger.HIGH,
    "feature": Danger.OPTION,
    "wake_up": Danger.HIGH,
    "go_ahead": Danger.HIGH,
    "drug_given": Danger.ANSWERED,
    "go_now": Danger.HIGH,
    **dict.fromkeys(VITAL, Danger.HIGH),  # in doubt they are asked back in two words
    "attempt_in_doubt": Danger.LOW,  # does no more than ask back
    "wave_in_doubt": Danger.LOW,  # the same
    "decline": Danger.LOW,  # at worst an item stays open that was done
    "bare_yes": Danger.LOW,  # confirms nothing: the answer to it asks back
    "mark": Danger.LOW,  # changes nothing
    "start": Danger.LOW,  # at worst the first item is asked early
    "hold": Danger.LOW,  # a lone "wait": at worst it waits for "go on"
    "end_case": Danger.LOW,  # asked after before anything ends
    "stop": Danger.LOW,  # one that is missed is worse than a needless one
}


def _danger(meaning: str, phrase: str) -> Danger:
    """Of that phrase of the wording."""
    if "{weight_kg}" in phrase:
        return Danger.READ_BACK  # a weight is named with the drug
    if meaning == "hold" and " " in phrase:
        # Nearly all that is heard as a hold by mistake is heard as one of several words: "two
        # seconds" of "tube's fixed". Of 86 such 24 are left, and of 51 that were said 50.
        return Danger.USUAL
    return _DANGER.get(meaning, Danger.USUAL)


def makes_sense(case: Case, meaning: str) -> bool:
    """Whether that meaning is an answer or a command in the present state of the case."""
    allowed, doubt = STATES[case.state].hears, case.known.doubt
    if case.state is State.DOUBTING and meaning in COMMANDS_IN_DOUBT:
        return doubt is not None and doubt.word in COMMANDS_IN_DOUBT  # no vital word gives way
    answers = case.current.answered_by if case.current is not None else ()
    digits = DIGITS in allowed and _takes_a_number(case) and meaning == "number"
    beside = told_beside(case)
    told = () if beside.still is None else beside.still.answered_by
    more = meaning in ("number", "allergen") and meaning in told
    second = meaning in (NOT_SO, INSTEAD) and beside.settled is not None
    answer = ANSWER in allowed and meaning in answers
    return meaning in allowed or answer or digits or more or second


def _takes_a_number(case: Case) -> bool:
    fact, quote = case.known.fact, case.known.quote
    in_quote = case.state is State.QUOTING and quote is not None and quote.takes_a_weight
    return in_quote or (fact is not None and fact.takes_a_number)


def _denied(item: AnyItem) -> Iterator[Pattern]:
    """What denies an item in its own words."""
    for words in item.denied_plainly:
        yield Pattern(words, "denied", danger=Danger.HIGH)


def is_unheard(words: str, meaning: str, item: AnyItem) -> bool:
    """Whether that item's own words leave no room for these: "it's on" is no yes where a collar is
    to be off."""
    own = {
        "back": item.back_unheard,
        "plain_yes": item.not_yet,
        "wave_in_doubt": item.denied_plainly,
    }
    return words in own.get(meaning, ())


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
        self._worded: dict[tuple[str, tuple[str, ...]], tuple[Pattern, ...]] = {}
        self._decoys = tuple(self._not_now())

    def now(self, case: Case) -> Grammar:
        """What may be said in this case now; the same object for the same state and item."""
        digits = DIGITS in STATES[case.state].hears and _takes_a_number(case)
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
            patterns = self.patterns(state, item, digits=digits)
            patterns += list(self._led(patterns))
            said = {one.words for one in patterns}
            others = (
                *self._before(beside.late, beside.still),
                *self._after(beside.early),
                *self._second_thoughts(beside.settled),
            )
            patterns += [one for one in others if one.words not in said]
            if "weight" in STATES[state].hears:
                patterns += self._weight_put_right({one.words for one in patterns})
            patterns = list(self._addressed(patterns, answered=state in _ANSWERED))
            tenths = item is not None and item.in_tenths
            self._built[key] = self._grammar(patterns, tenths=tenths)
        return self._built[key]

    def patterns(self, state: State, item: AnyItem | None, *, digits: bool) -> list[Pattern]:
        """What may be said in a state while this item is asked, with `{slots}`.

        `digits` says whether the digits of a number are awaited, or another one may be told in
        place of the one that was read back. A phrase that stands twice in a
        site stands twice here too.
        """
        patterns = [
            one
            for one in _counting_first(self._patterns(STATES[state].hears, item), state)
            if item is None or not is_unheard(one.words, one.meaning, item)
        ]
        return patterns + (list(self._say("number", unit_said=self._units())) if digits else [])

    def answers(self, state: State, item: AnyItem) -> list[Pattern]:
        """The part of `patterns` that answers the item; nothing where no answers are heard."""
        hears = STATES[state].hears
        # What was read back counts after any yes, also where a telling one was wanted.
        found = self._answers(item, any_yes="confirm" in hears) if ANSWER in hears else ()
        return [one for one in found if not is_unheard(one.words, one.meaning, item)]

    def fillers(self, slot: str) -> tuple[Filler, ...]:
        """What may stand in a slot; nothing when the site has nothing for it."""
        return self._slots.fillers(slot)

    def between_cases(self) -> Grammar:
        """What may be said while no case is at hand."""
        return self._grammar(self._say("new_case"))

    def when_asking(self, kind: str) -> Grammar:
        """What may be said while an item of that kind is asked, whichever item it is.

        `number` takes any whole number from 0 to 300, `question` only questions, `anything`
        everything that the site ever listens for.
        """
        items = [item for item in self._site.brief.items() if item.kind == kind]
        if kind == "question":
            return self._grammar(self._patterns((*QUESTIONS, "why", "left", "repeat"), None))
        if kind == "number":
            return self._grammar(
                [*self._say("number", unit_said=self._units()), *self._say("decline")]
            )
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
                # What was read back counts after any yes, also where a telling one was wanted.
                found += [] if item is None else self._answers(item, any_yes="confirm" in allowed)
            elif meaning == "denied":
                # Not a plain no, where something else is asked.
                no = self._site.wording.may_be_said.decline
                denied = () if item is None else _denied(item)
                found += [one for one in denied if one.words not in no]
            elif meaning == "wave_there":
                # What confirms the wave that is asked for, while its "no wave" is asked back.
                if item is not None and item.denied_plainly:
                    seen = (*item.telling_answers, *item.told_plainly)
                    found += [Pattern(words, meaning, danger=Danger.HIGH) for words in seen]
            elif meaning not in (DIGITS, LATE):
                found += self._say(meaning)
        return found

    def _answers(self, item: AnyItem, *, any_yes: bool) -> Iterator[Pattern]:
        for meaning in item.answered_by:
            options = ((one.id, one.said) for one in self._options_for(meaning, item))
            yield from _named(meaning, meaning, options, Danger.OPTION)
            if meaning in ("choose", "name", "denied", "no_feature"):
                continue  # above, or the item's own, below
            for pattern in self._say(meaning, unit_said=item.units_heard):
                if meaning == "decline" and pattern.words in item.nothing_more:
                    continue  # it is an answer here
                # Where only a telling answer confirms, the site's own yes is told what does.
                if meaning == "number" and item.wanted is not None:
                    # "Not thirty degrees" is heard as "about thirty degrees": it begins with it.
                    if pattern.words.startswith("{number}"):
                        yield replace(pattern, danger=Danger.SETTING)
                    continue
                bare = meaning in ("confirm", "plain_yes") and item.telling_only and not any_yes
                yield replace(pattern, meaning="bare_yes") if bare else pattern
        yield from self._own_answers(item, any_yes=any_yes)

    def _own_answers(self, item: AnyItem, *, any_yes: bool) -> Iterator[Pattern]:
        """Those that answer this item and no other."""
        if item.figure == "pressure_mmhg":
            for words in self._site.wording.may_be_said.blood_pressure:
                yield Pattern(words, "number", danger=Danger.NUMBER)
        if item.number_figure == "pressure_mmhg":
            for words in self._site.wording.may_be_said.blood_pressure:
                if words.startswith("{number}"):  # as of every number that settles its item
                    yield Pattern(words, "number", danger=Danger.SETTING)
        for words in item.told_too_low:
            yield Pattern(words, "pressure_low", danger=Danger.OPTION)  # it is read back
        if item.figure == "height_cm":
            yield Pattern("{metres}", "height", danger=Danger.NUMBER)
            yield Pattern("{feet}", "height_feet", danger=Danger.NUMBER)
        for words in item.told_plainly:
            yield Pattern(words, "plain_yes", danger=Danger.PLAIN)
        for words in (*item.not_yet, *item.given_up_by):
            yield Pattern(words, "decline", danger=Danger.LOW)
        for words in item.telling_answers:
            yield Pattern(words, "confirm", danger=Danger.HIGH)
        yield from _denied(item)
        for words in () if any_yes else item.nothing_more:  # it is never read back
            yield Pattern(words, "no_feature", danger=Danger.OPTION)
        for words in item.own_exceptions:
            yield Pattern(words, "not_applicable", danger=Danger.HIGH)

    def _options_for(self, meaning: str, item: AnyItem) -> Iterable[Option | Feature]:
        """What may be chosen; of features one by itself, as two in one breath are the wording's."""
        if meaning == "feature":
            return self._site.brief.features
        return item.options_among(self._site.brief.roster) if meaning in ("choose", "name") else ()

    def _say(self, meaning: str, unit_said: Iterable[str] = ()) -> tuple[Pattern, ...]:
        """The site's own words for it; worked out once, as they may be said in many states."""
        key = meaning, tuple(unit_said)
        if key not in self._worded:
            self._worded[key] = tuple(self._words_for(*key))
        return self._worded[key]

    def _words_for(self, meaning: str, unit_said: tuple[str, ...]) -> Iterator[Pattern]:
        brief = self._site.brief
        if meaning == "brief":
            yield from _named(meaning, "brief", ((one.id, one.said) for one in brief.briefs))
            return
        if meaning == "feature_told":
            yield from _named(meaning, "feature", ((one.id, one.told) for one in brief.features))
            return
        if meaning == "first_steps":
            yield from _named(meaning, meaning, ((one.id, one.said) for one in brief.first_steps))
            return
        said = self._site.wording.may_be_said
        phrases = getattr(said, meaning)
        if meaning == "number":
            phrases = (*phrases, *said.number_instead, *said.number_again)
        for phrase in phrases:
            danger = _danger(meaning, phrase)
            units = unit_said if "{unit}" in phrase else ("",)
            for unit in units:
                words = phrase.replace("{unit}", unit)
                yield Pattern(
                    words,
                    meaning,
                    danger=danger,
                    only_yes=meaning == "plain_yes",
                    is_asked_back=meaning in VITAL and holds_auxiliary(words),
                )

    def _addressed(self, patterns: Iterable[Pattern], *, answered: bool) -> Iterator[Pattern]:
        """What may be asked at any time, with the assistant's name before it, where it has one."""
        for pattern in patterns:
            may_be_called = pattern.meaning in ANY_TIME
            if answered or not may_be_called or not self._site.wording.address:
                yield pattern
            for name in self._site.wording.address if may_be_called else ():
                yield replace(pattern, words=f"{name} {pattern.words}")

    def _led(self, patterns: Iterable[Pattern]) -> Iterator[Pattern]:
        """What tells of an item in its own words, begun with a yes; what denies it, with a no.

        A number that settles its item is read back then: of "not thirty degrees" the ear may make
        "yes thirty degrees".
        """
        may_be_said = self._site.wording.may_be_said
        usual = {*may_be_said.decline, *may_be_said.confirm}
        said = {one.words for one in patterns}
        for one in patterns:
            counts_at_once = one.danger is Danger.SETTING
            if counts_at_once or (one.danger is Danger.PLAIN and not one.only_yes):
                first = may_be_said.yes_first
            elif one.meaning == "decline" and one.words not in usual:
                first = may_be_said.no_first
            else:
                continue
            begun = one.words.split()[0] in (*may_be_said.yes_first, *may_be_said.no_first)
            for word in () if begun else first:
                if f"{word} {one.words}" not in said:
                    led = replace(one, words=f"{word} {one.words}", is_led=True)
                    yield replace(led, is_asked_back=True) if counts_at_once else led

    def _before(self, late: Sequence[AnyItem], still: AnyItem | None) -> Iterator[Pattern]:
        """What tells of items that were asked before: that one is so by now, or another number, or
        one more allergy.

        It is read back, or said back, so a plain answer need not stand in its situation.
        """
        for item in late:
            words = [*item.told_plainly, *item.telling_answers, *item.given_up_by]
            words += [f"{{number}} {unit}" for unit in item.units_heard if item.wanted is not None]
            words += ["{number}"] if item.told_meanwhile else []
            yield from _named(LATE, LATE, [(item.id, words)])
        said = self._site.wording.may_be_said
        if still is not None and "number" in still.answered_by:
            for phrase in said.number_instead:
                units = still.units_heard if "{unit}" in phrase else ("",)
                for unit in units:
                    yield Pattern(phrase.replace("{unit}", unit), "number")
        elif still is not None:
            for phrase in said.allergen:
                yield Pattern(phrase, "allergen")

    def _weight_put_right(self, said: Collection[str]) -> Iterator[Pattern]:
        """ "No, eighty kilos", whatever is asked: its unit tells that it is the weight, unless what
        was said before may have been in kilograms too."""
        units = [one.units_heard for one in self._site.brief.asking_for("weight_kg")]
        for phrase in self._site.wording.may_be_said.number_instead:
            for unit in dict.fromkeys(chain(*units)) if "{unit}" in phrase else ():
                words = phrase.replace("{unit}", unit)
                if words not in said:
                    yield Pattern(words.replace("{number}", "{kilograms}"), "weight")

    def _second_thoughts(self, item: AnyItem | None) -> Iterator[Pattern]:
        """What takes back the answer to the item before: its own words for not being so, or another
        one who was named, after what a number is put right with ("no")."""
        said = self._site.wording.may_be_said.number_instead
        begins = [one.removesuffix("{number}") for one in said if one.endswith("{number}")]
        if item is None or item.denied_plainly or not begins:
            return
        no = min(begins, key=len)
        denials = [words for one in item.not_yet for words in (one, f"{no}{one}")]
        yield from _named(NOT_SO, NOT_SO, [(item.id, denials)])
        for meaning in item.answered_by:
            others = [
                (one.id, [f"{begin}{words}" for begin in begins for words in one.said])
                for one in self._options_for(meaning, item)
                if meaning in ("choose", "name")
            ]
            yield from _named(INSTEAD, INSTEAD, others, Danger.OPTION)

    def _after(self, early: Sequence[AnyItem]) -> Iterator[Pattern]:
        """What answers items that are asked later."""
        for item in early:
            for meaning in item.answered_by:
                for option in self._options_for(meaning, item):
                    values = {LATE: item.id, meaning: option.id}
                    for words in option.said:
                        yield Pattern(words, LATE, values, Danger.OPTION)

    def _units(self) -> tuple[str, ...]:
        units = (unit for item in self._site.brief.items() for unit in item.units_heard)
        return tuple(dict.fromkeys(units))

    def _not_now(self) -> Iterator[Pattern]:
        """What is said in this room but means nothing now; the grammar of a state overrides it.

        A command or a confirmation out of place would otherwise be taken for whatever sounds most
        like it among the few phrases that make sense.
        """
        said = self._site.wording.may_be_said
        phrases = [*said.room_talk]
        for meaning in dict.fromkeys(name for row in STATES.values() for name in row.hears):
            # Those with slots would make every grammar large for little gain.
            phrases += [words for words in getattr(said, meaning, ()) if "{" not in words]
        for item in self._site.brief.items():
            phrases += item.telling_answers
        for words in phrases:
            yield Pattern(words, "not_now", for_me=False)


def _counting_first(patterns: Iterable[Pattern], state: State) -> Iterator[Pattern]:
    """Without what would only be answered with the question that stands, where the same words count
    now: "ready" may be a yes here, and go on with a hold elsewhere."""
    waits, said = STATES[state].waits, set[str]()
    for one in patterns:
        if one.meaning not in waits or one.words not in said:
            yield one
        said.add(one.words)


def _named(
    meaning: str,
    slot: str,
    phrases: Iterable[tuple[str, Iterable[str]]],
    danger: Danger = Danger.USUAL,
) -> Iterator[Pattern]:
    """What names one of several: each with its id, which becomes the value of that slot."""
    for name, said in phrases:
        for words in said:
            yield Pattern(words, meaning, {slot: name}, danger)
