"""What `check` says of a formulary's names beside those of the program's own reference."""

from collections.abc import Iterator

from assistant.dosing.drugs import Drug
from assistant.dosing.formulary import Formulary
from assistant.dosing.yardstick import Yardstick, yardstick


def remarks(formulary: Formulary) -> Iterator[str]:
    """A sentence for each drug that no allergy to its class bars, as far as names tell."""
    known = yardstick()
    for drug in formulary.drugs:
        of_class, listed = known.class_of(drug.id), ", ".join(drug.allergens)
        if of_class is not None and listed and not _barred(drug, of_class, known, formulary):
            yield f"No allergy to {of_class} bars {drug.called}, only one to: {listed}"


def unheard(formulary: Formulary) -> tuple[str, ...]:
    """Drugs of the reference that the site neither has nor names among the absent ones.

    For a site that calls drugs by their English names.
    """
    here = {name for drug in formulary.drugs for name in (drug.id, *drug.names())}
    here |= {one.called for one in formulary.absent}
    known = yardstick().drugs
    return tuple(one.drug for one in known if here.isdisjoint((one.drug, *one.names)))


def _barred(drug: Drug, of_class: str, known: Yardstick, formulary: Formulary) -> bool:
    """Whether one of its allergens is its class, or names a drug of it."""
    of_whom = known.named()
    for group in formulary.allergens:
        if group.id in drug.allergens:
            named = (group.id, group.called, *group.said)
            classes = {known.class_of(of_whom[name]) for name in named if name in of_whom}
            if of_class in (*classes, *named):
                return True
    return False
