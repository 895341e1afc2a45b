"""Drugs whose names sound alike, and that a site does not have asked apart."""

from collections.abc import Iterator
from itertools import combinations

from assistant.brief.decisions import SiteDecisions
from assistant.files.faults import Fault
from assistant.hearing.soundalikes import phonemes, unlikeness

ASKED_APART_BELOW = 0.46
"""Of the sounds of the longer name. Below it lie rocuronium and vecuronium (0.15), dopamine and
dobutamine (0.40), ephedrine and epinephrine (0.44), phenylephrine and epinephrine (0.46); no two
names of different classes among fifty but ketamine and dopamine, atropine and adenosine (0.43,
0.44). This project's own limit, no source."""
FORMULARY = "formulary.yaml"


def name_faults(site: SiteDecisions) -> Iterator[tuple[str, Fault]]:
    """A fault for each drug that does not name, under sounds_like, one that sounds like it.

    Also one that the site does not have: who asks for ephedrine must not be told of epinephrine.
    Where espeak-ng, which tells how names are pronounced, cannot be asked, there is none.
    """
    formulary = site.formulary
    names = [(name, drug.id) for drug in formulary.drugs for name in drug.names()]
    names += [(one.called, one.called) for one in formulary.absent]
    try:
        sounds = phonemes([name for name, _ in names], site.wording.phonetic_voice)
    except OSError:  # `check` says that it could not be asked
        return
    at = {drug.id: number for number, drug in enumerate(formulary.drugs)}
    told = set()
    for (one, its_id), (other, other_id) in combinations(names, 2):
        differ = unlikeness(sounds[one], sounds[other])
        if its_id == other_id or differ >= ASKED_APART_BELOW:
            continue
        pairs = ((one, its_id, other, other_id), (other, other_id, one, its_id))
        for name, drug_id, near, near_id in pairs:
            if drug_id not in at or (drug_id, near_id) in told:
                continue
            told.add((drug_id, near_id))
            if near_id not in formulary.drug(drug_id).sounds_like:
                loc = ("drugs", at[drug_id], "sounds_like")
                much = f"({differ:.0%} of their sounds differ)"
                found = f"{name!r}, which sounds like {near!r} {much}"
                allowed = f"{near_id} in its sounds_like, so that the two are asked apart"
                yield FORMULARY, Fault(loc, found, allowed)
