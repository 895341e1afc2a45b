"""Answers in the answer window, and what must not pass for one there.

A plain item is open and has just been called; somebody answers as one would a colleague. What may
be said is what the phrasebook gives while that item is asked.
"""

import random
from collections.abc import Iterator
from itertools import cycle, islice

from assistant.brief.items import AnyItem
from assistant.brief.valued_items import QuantityItem
from assistant.fitting.corpus import HERE, Said, grammars, plain, talk_of, written
from assistant.fitting.room import DISTANCES_M, NOISES, SNR_DB
from assistant.fitting.trials import Condition, Trial, Utterance
from assistant.grammar.grammar import Grammar, Pattern
from assistant.grammar.word_tree import WordTree
from assistant.language.numbers import say_number
from assistant.site.site import Site

DANGERS_EACH = 5
"""So many sentences that are no answer for each that is one."""
OTHERS_DB = (-10.0, -14.0, -18.0)
"""Beside those who answer, whoever speaks to somebody else across the bay."""
_SLOW_VOICE, _SLOW_SHARE = "kokoro", 0.25
TRUE = ("plain answer", "telling answer")
YES = ("plain_yes", "confirm")
"""The meanings of such an answer: a yes in other words is a yes."""
AWAY = ("others' talk", "others' yes")
_KIND = {"talk": "others' talk", "decline in other words": "decline"}
"""What the lists call otherwise."""
DENIED: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "decline": (
        ("not {}", "{} not yet", "never {}", "it isn't {}", "no not {}", "not quite {}"),
        ("no longer {}", "{} no", "it wasn't {}", "we're not {}", "hardly {}", "not even {}"),
    ),
    "hedge": (
        ("nearly {}", "maybe {}", "i think {}", "should be {}", "{} soon"),
        ("almost {}", "perhaps {}", "probably {}", "will be {}", "{} in a minute"),
    ),
    "question": (
        ("is it {}", "who says {}", "are we {}", "{} is it"),
        ("was that {}", "what's {}", "have you got {}", "{} or not"),
    ),
    "condition": (
        ("if {}", "as soon as {}", "when {}", "unless {}", "{} but"),
        ("once {}", "until {}", "provided {}", "in case {}", "{} if he can"),
    ),
    "command": (
        ("get it {}", "check if {}", "make sure {}"),
        ("have it {}", "find out if {}", "tell me when {}"),
    ),
}
"""What an answer becomes when it is denied, by kind: words that tune, and words held out."""


def sentences(site: Site, *, held_out: bool) -> Iterator[Said]:
    """All of them, each with the items that are asked meanwhile.

    The halves share what may be answered, and nothing else.
    """
    items, known = plain_items(site), grammars(site)
    yes = site.wording.may_be_said.plain_yes
    answers = {**dict.fromkeys(yes, tuple(items)), **_told_plainly(items)}
    for words, asked in answers.items():
        yield Said("plain answer", written(words), asked, "plain_yes")
        yield Said("others' yes", written(words), asked)
    for words in site.wording.may_be_said.confirm:
        yield Said("telling answer", written(words), tuple(items), "confirm")
    for item in items.values():
        if isinstance(item, QuantityItem):
            yield from _quantities(item, held_out=held_out)
        for words in item.not_yet:
            yield Said("decline", written(words), (item.id,), "decline")
    for pattern in _commands(known[next(iter(items))]):
        told = written(pattern.words)
        yield Said("command", told, tuple(items), pattern.meaning, dict(pattern.values))
    tuned = {plain(one.text) for one in sentences(site, held_out=False)} if held_out else set()
    trees = {name: WordTree(known[name]) for name in items}
    for kind, text, asked in _no_answers(items, held_out=held_out):
        wrong = tuple(name for name in asked if not _is_answer(trees[name], text))
        if wrong and plain(text) not in tuned:
            yield Said(_KIND.get(kind, kind), text, wrong, _meaning(trees[wrong[0]], text))


def plain_items(site: Site) -> dict[str, AnyItem]:
    """The items that a plain yes settles, by their names."""
    return {
        item.id: item
        for item in site.brief.items()
        if item.confirmed and not item.doubts_a_plain_yes and not item.telling_only
    }


def plan(
    site: Site, names: tuple[str, ...], *, held_out: bool, seed: int
) -> Iterator[tuple[Said, Condition]]:
    """Answers at every ratio, and after each so many sentences that are none, at two of them.

    The order, the room and the noise are drawn by lot. Who is farther away speaks across the room.
    """
    chance = random.Random(seed)
    said = tuple(sentences(site, held_out=held_out))
    pairs = [(one, name) for one in said for name in names if _is_drawn(name, chance)]
    chance.shuffle(pairs)
    meant = [pair for pair in pairs if pair[0].kind in TRUE]
    # The kinds by turns: a few hundred trials have some of each.
    kinds = sorted({said.kind for said, _ in pairs} - set(TRUE))
    by_kind = cycle([cycle([pair for pair in pairs if pair[0].kind == kind]) for kind in kinds])
    for pair in meant:
        for snr_db in SNR_DB:
            yield pair[0], _condition(chance, pair, snr_db)
        for of_kind in islice(by_kind, DANGERS_EACH):
            wrong = next(of_kind)
            for snr_db in (chance.choice(SNR_DB[:2]), chance.choice(SNR_DB[2:])):
                yield wrong[0], _condition(chance, wrong, snr_db)


def is_right(trial: Trial, taken: Utterance) -> bool:
    """Whether that is what was said, or a yes in other words."""
    return trial.meant(taken) or (trial.said.meaning in YES and taken.meaning in YES)


def _is_drawn(name: str, chance: random.Random) -> bool:
    """A quarter of the sentences of a voice that takes seconds for each, and all of the others."""
    return not name.startswith(_SLOW_VOICE) or chance.random() < _SLOW_SHARE


def _condition(chance: random.Random, pair: tuple[Said, str], snr_db: float | None) -> Condition:
    said, name = pair
    noise = chance.choices(NOISES, (5, 1, 1, 1, 1, 0))[0]
    distance = chance.choices(tuple(DISTANCES_M), (6, 3, 0))[0]
    if said.kind in AWAY:
        return Condition(name, "across", noise, snr_db, chance.choice(OTHERS_DB))
    return Condition(name, distance, noise, snr_db)


def _quantities(item: QuantityItem, *, held_out: bool) -> Iterator[Said]:
    """The wanted number, and another that sounds like it or is usual."""
    unit = item.units_heard[0]
    value = {"number": float(item.wanted_low)}
    told = written(f"{say_number(int(item.wanted_low))} {unit}".replace("-", " "))
    yield Said("telling answer", told, (item.id,), "number", value)
    for other in (13, 40, 50, 5) if held_out else (50, 13, 45, 10):
        if not item.wants(other):
            values = {"number": float(other)}
            text = written(f"{say_number(other)} {unit}".replace("-", " "))
            yield Said("other number", text, (item.id,), "number", values)


def _told_plainly(items: dict[str, AnyItem]) -> dict[str, tuple[str, ...]]:
    """The plain answers, each with the items that it answers."""
    answers: dict[str, tuple[str, ...]] = {}
    for item in items.values():
        for words in item.told_plainly:
            answers[words] = (*answers.get(words, ()), item.id)
    return answers


def _no_answers(
    items: dict[str, AnyItem], *, held_out: bool
) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """What denies, doubts or asks after an answer, and talk, each with the items in question."""
    for kind, halves in DENIED.items():
        ways = halves[held_out]
        for number, (words, asked) in enumerate(_told_plainly(items).items()):
            # Two of each answer: all of them would be thousands.
            for way in (ways[number % len(ways)], ways[(number + 2) % len(ways)]):
                yield kind, written(way.format(words)), asked
    half = "held_out" if held_out else "fit"
    for name in (f"window_{half}.txt", f"talk_{half}.txt"):
        for kind, text in talk_of((HERE / name).read_text("utf-8")):
            yield kind, text, tuple(items)


def _commands(grammar: Grammar) -> Iterator[Pattern]:
    answers = ("confirm", "plain_yes", "decline", "not_applicable", "number")
    for pattern in grammar.patterns:
        if pattern.for_me and pattern.meaning not in answers and "{" not in pattern.words:
            yield pattern


def _is_answer(tree: WordTree, text: str) -> bool:
    """Whether that is one of the site's own answers."""
    return _meaning(tree, text) in ("confirm", "plain_yes", "not_applicable")


def _meaning(tree: WordTree, text: str) -> str:
    """What the site takes it for, when it is in the grammar; a decline, a command, or nothing."""
    found = (phrase.pattern for phrase in tree.match(plain(text).split()))
    return next((one.meaning for one in found if one.for_me), "")
