"""Phrases by which people tell a figure of the patient, in words of another unit."""

from collections.abc import Iterator
from pathlib import Path

from assistant.brief.decisions import SiteDecisions
from assistant.errors import BadInput
from assistant.language.unit_words import is_told_in
from assistant.site.phrase_places import WORDING, complaint

TOLD_BY = {
    "{kilograms}": "weight_kg",
    "{weight_kg}": "weight_kg",
    "{pounds}": "weight_lb",
    "{centimetres}": "height_cm",
    "{feet}": "height_in",
    "{years}": "age_years",
}
"""Which figure what stands in a slot becomes."""


def fact_faults(folder: Path, site: SiteDecisions) -> Iterator[BadInput]:
    """A complaint for each: "{kilograms} pounds" would take pounds for kilograms."""
    said = site.wording.may_be_said
    for meaning in type(said).model_fields:
        for at, words in enumerate(getattr(said, meaning)):
            slot = next((one for one in TOLD_BY if one in words), None)
            if slot is None:
                continue
            around = words.replace(slot, "")
            if not is_told_in(around, TOLD_BY[slot], site.wording.tongue):
                loc = ("may_be_said", meaning, at)
                yield complaint(folder, WORDING, loc, repr(words), f"words for the unit of {slot}")
