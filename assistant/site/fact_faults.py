"""Phrases by which people tell a fact of the patient, in words of another one."""

from collections.abc import Iterator

from assistant.brief.decisions import SiteDecisions
from assistant.files.faults import Fault
from assistant.language.sex_words import OTHER, speaks_of_other
from assistant.language.unit_words import is_told_in, tells_which
from assistant.site.phrase_places import WORDING, phrase_places

TOLD_BY = {
    "{kilograms}": "weight_kg",
    "{weight_kg}": "weight_kg",
    "{pounds}": "weight_lb",
    "{centimetres}": "height_cm",
    "{feet}": "height_in",
    "{years}": "age_years",
}
"""Which figure what stands in a slot becomes."""
ASKED_FOR = ("{kilograms}", "{centimetres}", "{years}")
"""Slots whose figures items ask for: there "he's eighty" is plain enough, by `number`."""
TELL_BY_THEMSELVES = ("{weight_kg}", "{feet}")
"""Slots that need no unit around them: the weight of a dose, and "five foot eight"."""


def fact_faults(site: SiteDecisions) -> Iterator[tuple[str, Fault]]:
    """A fault for each, with its file: "{kilograms} pounds" would take pounds for kilograms, "he's
    {kilograms}" an age for a weight, and "he's a man" among `female` a man for a woman."""
    yield from _sexes(site)
    said = site.wording.may_be_said
    for meaning in type(said).model_fields:
        for at, words in enumerate(getattr(said, meaning)):
            slot = next((one for one in TOLD_BY if one in words), None)
            if slot is None:
                continue
            around, figure, tongue = words.replace(slot, ""), TOLD_BY[slot], site.wording.tongue
            loc = ("may_be_said", meaning, at)
            if not is_told_in(around, figure, tongue):
                yield WORDING, Fault(loc, repr(words), f"words for the unit of {slot}")
            elif slot not in TELL_BY_THEMSELVES and not tells_which(around, figure, tongue):
                allowed = f"words that tell which figure {slot} is, such as its unit"
                if slot in ASKED_FOR:
                    allowed += "; those that do not belong to number, where it is asked for"
                yield WORDING, Fault(loc, repr(words), allowed)


def _sexes(site: SiteDecisions) -> Iterator[tuple[str, Fault]]:
    """Of the wording's facts, and of the options of an item that sets the sex."""
    options = {
        (*loc, "options", at, "said"): option.id
        for loc, _, item in site.brief.placed()
        if item.figure == "sex"
        for at, option in enumerate(item.options_among(()))
    }
    for place in phrase_places(site):
        sex = place.meaning if place.meaning in OTHER else options.get(place.loc[:-1])
        if sex is not None and speaks_of_other(place.words, sex, site.wording.language):
            yield place.file, Fault(place.loc, repr(place.words), f"words for {sex}")
