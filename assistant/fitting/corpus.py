"""What is said: all that the site listens for, and what must not be taken for that."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lemminflect import getInflection, getLemma

from assistant.brief.case import Case
from assistant.brief.states import State
from assistant.brief.valued_items import NumberItem
from assistant.grammar.grammar import SLOT, Danger, Grammar, Pattern
from assistant.grammar.word_tree import WordTree
from assistant.hearing.engines.closed.negation import denials
from assistant.language.numbers import say_digits, say_number
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site

HERE = Path(__file__).parent
TUNING_KG = (42, 50, 60, 67, 75, 80, 98, 105, 110, 115, 120, 144)
HELD_OUT_KG = (34, 48, 55, 63, 70, 76, 85, 92, 103, 117, 126, 140, 150)
TUNING_DOUBTS = (
    *("if", "before", "unless", "as soon as", "in case", "whether", "after", "provided"),
    *("assuming", "perhaps", "i think"),
)
HELD_OUT_DOUBTS = ("apparently", "i doubt", "suppose")
"""Words that make a condition or a guess of a deed. The engine weighs those that tune, and of those
held out "suppose"."""
ANYTHING = "anything"
"""The name of what no state of a case listens for: all that the site ever does, at once."""
DECLINES = ("decline", "decline in other words")
NOT_FOR_ME = ("decline in other words", "hedge", "talk", "decoy")
ASKING = ("have", "what", "what's", "why", "who", "is", "how", "where", "are", "has", "which")


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence and what it means; `meaning` is empty when nothing of it may be accepted."""

    kind: str
    text: str
    asked: tuple[str, ...]
    """While which items it is said, by their names in `grammars`: one of them, by lot."""
    meaning: str = ""
    values: dict[str, Any] = field(default_factory=dict)


def grammars(site: Site) -> dict[str, Grammar]:
    """What may be said while each item is open, by its id, as in a case; and `ANYTHING`."""
    book, case = Phrasebook(site), Case(site.brief)
    case.state = State.ASKING
    found = {}
    for item in site.brief.items():
        case.known.current = item.id
        found[item.id] = book.now(case)
    return found | {ANYTHING: book.when_asking(ANYTHING)}


def sentences(site: Site, *, held_out: bool) -> Iterator[Said]:
    """All of them; the two halves share the site's fixed phrases and nothing else."""
    known = grammars(site)
    places = _places(known)
    items = tuple(name for name in known if name != ANYTHING)
    for pattern in known[ANYTHING].patterns:
        if SLOT.search(pattern.words):
            continue
        if not pattern.for_me:
            yield Said("decoy", written(pattern.words), items)
            continue
        asked = places[pattern.words, pattern.meaning]
        kind = {"confirm": "confirmation", "decline": "decline"}.get(pattern.meaning, "command")
        yield Said(kind, written(pattern.words), asked, pattern.meaning, dict(pattern.values))
    yield from _values(site, HELD_OUT_KG if held_out else TUNING_KG, items)
    talk = (HERE / ("talk_held_out.txt" if held_out else "talk_fit.txt")).read_text("utf-8")
    tree = WordTree(known[ANYTHING])
    talked = ((kind, text, items) for kind, text in talk_of(talk))
    denied = (
        (kind, text, places[of.words, of.meaning])  # dangerous while what it denies may be said
        for kind, text, of in _denials(known[ANYTHING], held_out=held_out)
    )
    for kind, text, asked in (*talked, *denied):
        if not any(phrase.pattern.for_me for phrase in tree.match(plain(text).split())):
            yield Said(kind, text, asked)


def _places(known: Mapping[str, Grammar]) -> dict[tuple[str, str], tuple[str, ...]]:
    """While which items each phrase may be said, by its words and meaning; `ANYTHING` when it is
    said between the items."""
    found: dict[tuple[str, str], tuple[str, ...]] = {}
    for name, grammar in known.items():
        for one in grammar.patterns:
            if one.for_me:
                before = found.get((one.words, one.meaning), ())
                found[one.words, one.meaning] = (*before, name)
    return {
        phrase: tuple(one for one in names if one != ANYTHING) or (ANYTHING,)
        for phrase, names in found.items()
    }


def weighed_items(site: Site) -> tuple[str, ...]:
    """The items that ask for a weight."""
    items = site.brief.items()
    numbers = (item for item in items if isinstance(item, NumberItem))
    return tuple(item.id for item in numbers if "kilos" in item.unit_said)


def written(words: str) -> str:
    """As a book would write it: voices read that best."""
    asks = words.partition(" ")[0] in ASKING
    return words[:1].upper() + words[1:] + ("?" if asks else ".")


def _values(site: Site, weights_kg: Iterable[int], items: tuple[str, ...]) -> Iterator[Said]:
    drugs = site.formulary.drugs
    weighs = weighed_items(site)
    for place, weight_kg in enumerate(weights_kg):
        wordings = (say_number(weight_kg).replace("-", " "), say_digits(weight_kg))
        for number in wordings:
            value = {"number": float(weight_kg)}
            yield Said("weight", written(f"{number} kilos"), weighs, "number", value)
        for step in range(6):
            drug = drugs[(place * 3 + step) % len(drugs)]
            values = {"drug": drug.id, "weight_kg": float(weight_kg)}
            asked = f"what is the dose of {drug.called} for {wordings[step % 2]} kilos"
            yield Said("dose", written(asked), items, "dose", values)
    for drug in drugs:
        asked = f"what is the dose of {drug.called}"
        yield Said("drug", written(asked), items, "dose", {"drug": drug.id})


def talk_of(text: str) -> Iterator[tuple[str, str]]:
    """The sentences of a list of talk, each with the kind that stands over it in brackets."""
    kind = ""
    for line in re.split(r"\n(?=\[)", text):
        if heading := re.match(r"\[(\w+)\]\s", line):
            kind = {"decline": "decline in other words"}.get(heading[1], heading[1])
            for one in re.findall(r"[^.?!]+[.?!]", line[heading.end() :].replace("\n", " ")):
                yield kind, one.strip()


def _denials(grammar: Grammar, *, held_out: bool) -> Iterator[tuple[str, str, Pattern]]:
    """Every confirmation of the site, and what acts at once, denied, and as what is only meant or
    half done, with what it denies; each half has every second one.
    """
    does = [
        one
        for one in grammar.patterns
        if one.danger is Danger.HIGH and one.for_me and not SLOT.search(one.words)
    ]
    doubts = HELD_OUT_DOUBTS if held_out else TUNING_DOUBTS
    # What two phrases become when they are denied may be the same: then it is of the tuning half.
    tuned = {denial for one in does[::2] for _, denial in _denied(one.words)} if held_out else set()
    for one in does[held_out::2]:
        doubted = (("hedge", f"{doubt} {one.words}") for doubt in doubts)
        for kind, denial in (*doubted, *_denied(one.words)):
            if denial not in tuned:
                yield kind, written(denial), one


def _denied(words: str) -> Iterator[tuple[str, str]]:
    speaker, _, deed = words.partition(" ")
    if speaker not in ("i", "we") or deed.startswith("must"):
        yield from (("decline in other words", one) for one in denials(words)[:2])
        return
    did, _, rest = deed.removeprefix("all ").partition(" ")
    do, verb = getLemma(did, "VERB")[0], getInflection
    done, doing = verb(do, "VBN")[0], verb(do, "VBG")[0]
    before = "all " if deed.startswith("all ") else ""
    denied = "don't" if do == did else "didn't"
    for no in (
        f"{denied} {before}{do}",
        f"haven't {before}{done}",
        f"never {before}{did}",
        f"couldn't {before}{do}",
        f"forgot to {do}",
        f"have yet to {do}",
    ):
        yield "decline in other words", f"{speaker} {no} {rest}"
    for nearly in ("'ll", " should", " could"):
        yield "hedge", f"{speaker}{nearly} {before}{do} {rest}"
    yield "hedge", f"{speaker}'{'m' if speaker == 'i' else 're'} {doing} {rest}"
    if did != do:
        yield "hedge", f"{speaker} nearly {before}{did} {rest}"
    yield "hedge", f"have {speaker} {before}{done} {rest}"
    if not did.endswith("ed") and did != do:
        yield "hedge", f"{speaker} {before}{do} {rest}"


def plain(text: str) -> str:
    """The words alone, in lower case."""
    return re.sub(r"[.,?!]", "", text).lower()
