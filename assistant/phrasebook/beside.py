"""What tells of other items than the one that is asked: put off, next, or settled just before."""

from collections.abc import Collection, Iterator, Sequence
from itertools import chain

from assistant.brief.agenda import Beside
from assistant.brief.brief import Brief
from assistant.brief.items import AnyItem
from assistant.brief.states import INSTEAD, LATE, NOT_SO, UNDONE
from assistant.grammar.grammar import Danger, Pattern
from assistant.phrasebook.item_answers import options_for
from assistant.phrasebook.site_phrases import meant, named, with_units
from assistant.speaking.may_be_said import MayBeSaid


def told_of(beside: Beside, brief: Brief, said: MayBeSaid) -> Iterator[Pattern]:
    """What may be said of the items beside the one that is asked."""
    yield from named(UNDONE, UNDONE, ((one.id, one.undone_by) for one in beside.undone))
    yield from _before(beside.late, beside.still, said)
    yield from _after(beside.early, brief)
    yield from _second_thoughts(beside.settled, said)
    yield from _others_named(beside.named, brief, said)
    yield from wave_there(beside.wave)
    yield from _wave_lost(beside.wave, said)


def _before(late: Sequence[AnyItem], still: AnyItem | None, said: MayBeSaid) -> Iterator[Pattern]:
    """What tells of items that were asked before: that one is so by now, or another number, or
    one more allergy.

    It is read back, or said back, so a plain answer need not stand in its situation.
    """
    for item in late:
        so_by_now = [*item.told_plainly, *item.telling_answers, *item.given_up_by]
        so_by_now += [f"{{number}} {unit}" for unit in item.units_heard if item.wanted is not None]
        so_by_now += ["{number}"] if item.told_meanwhile else []
        yield from named(LATE, LATE, [(item.id, so_by_now)])
    if still is not None and "number" in still.answered_by:
        for phrase in said.number_instead:
            for words in with_units(phrase, still.units_heard):
                yield Pattern(words, "number")
    elif still is not None:
        for phrase in said.allergen:
            yield Pattern(phrase, "allergen")


def _after(early: Sequence[AnyItem], brief: Brief) -> Iterator[Pattern]:
    """What answers items that are asked later."""
    for item in early:
        for meaning in item.answered_by:
            for option in options_for(meaning, item, brief):
                values = {LATE: item.id, meaning: option.id}
                for words in option.said:
                    yield Pattern(words, LATE, values, Danger.OPTION)


def _second_thoughts(item: AnyItem | None, said: MayBeSaid) -> Iterator[Pattern]:
    """What takes back the answer to the item before: its own words for not being so."""
    begins = _put_right_with(said)
    if item is None or item.denied_plainly or not begins:
        return
    no = min(begins, key=len)
    denials = [words for one in item.not_yet for words in (one, f"{no}{one}")]
    yield from named(NOT_SO, NOT_SO, [(item.id, denials)])


def _others_named(item: AnyItem | None, brief: Brief, said: MayBeSaid) -> Iterator[Pattern]:
    """Another one of those to choose from, in place of who was named for that item."""
    begins = _put_right_with(said)
    for meaning in () if item is None else item.answered_by:
        if item is None or meaning not in ("choose", "name"):
            continue
        others = [
            (one.id, [f"{begin}{words}" for begin in begins for words in one.said])
            for one in options_for(meaning, item, brief)
        ]
        yield from named(INSTEAD, INSTEAD, others)


def _put_right_with(said: MayBeSaid) -> list[str]:
    """What stands before a number that is put right ("no"), and before a name."""
    return [one.removesuffix("{number}") for one in said.number_instead if one.endswith("{number}")]


def wave_there(item: AnyItem | None) -> Iterator[Pattern]:
    """What tells of a wave while something else is asked back."""
    if item is not None:
        yield from meant("wave_there", (*item.telling_answers, *item.told_plainly))


def _wave_lost(item: AnyItem | None, said: MayBeSaid) -> Iterator[Pattern]:
    """What denies the wave while a tube in is asked back, and is not the no to that."""
    for words in () if item is None else item.denied_plainly:
        if words not in said.decline:
            yield Pattern(words, "wave_lost", danger=Danger.HIGH)


def weight_put_right(brief: Brief, said: MayBeSaid, taken: Collection[str]) -> Iterator[Pattern]:
    """ "No, eighty kilos", whatever is asked: its unit tells that it is the weight, unless what was
    said before may have been in kilograms too, so that the words are `taken`."""
    units = [one.units_heard for one in brief.asking_for("weight_kg")]
    for phrase in said.number_instead:
        for words in with_units(phrase, tuple(dict.fromkeys(chain(*units)))):
            if words != phrase and words not in taken:
                yield Pattern(words.replace("{number}", "{kilograms}"), "weight")
