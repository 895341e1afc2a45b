"""What is wrong with drugs that are each well-formed: with one another, and in proportion."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from assistant.dosing.drawing_up import step_of
from assistant.dosing.drugs import Drug, Indication, Use
from assistant.dosing.formulary import Adults, Formulary, doses_of
from assistant.dosing.preparations import Preparation
from assistant.dosing.stated import Figure
from assistant.dosing.units import amount_in, half_up
from assistant.files.faults import Fault

COARSEST_ROUNDING = Decimal("0.1")
"""Rounding to the graduation may change no dose by more than this share of it.

This project's own limit, no source: a smaller syringe or a weaker strength is then needed.
"""


def faults(formulary: Formulary) -> Iterator[Fault]:
    """What is wrong with drugs that are each well-formed: with one another, and in proportion."""
    yield from _names_twice(formulary)
    yield from _allergens_twice(formulary)
    yield from _not_apart(formulary)
    yield from _other_purposes(formulary)
    allergens = {one.id for one in formulary.allergens}
    for at, drug in enumerate(formulary.drugs):
        for number, allergen in enumerate(drug.allergens):
            if allergen not in allergens:
                place = ("drugs", at, "allergens", number)
                yield Fault(place, repr(allergen), "one of the allergens")
        strengths = [one.quantity for one in drug.supplied.strengths]
        for number, strength in enumerate(strengths):
            if strength in strengths[:number]:
                found = str(drug.supplied.strengths[number])
                loc = ("drugs", at, "supplied", "strengths", number)
                yield Fault(loc, found, "each strength once")
        for number, preparation in enumerate(drug.preparations):
            fault = preparation.fault(drug.supplied)
            if fault is not None:
                within, found, allowed = fault
                yield Fault(("drugs", at, "preparations", number, *within), found, allowed)
        for number in range(len(drug.indications)):
            for one in _out_of_proportion(drug, number, formulary):
                yield one._replace(loc=("drugs", at, *one.loc))


def _allergens_twice(formulary: Formulary) -> Iterator[Fault]:
    named = [one.id for one in formulary.stated_allergens()]
    for at, further in enumerate(formulary.further_allergens):
        if named.count(further.id) > 1:
            loc = ("further_allergens", at, "id")
            yield Fault(loc, repr(further.id), "each allergen's id once")
    drugs = {name for one in formulary.drugs for name in one.names()}
    drugs |= {one.called for one in formulary.absent}
    owners: dict[str, str] = {}
    for key in ("allergens", "further_allergens"):
        for at, one in enumerate(getattr(formulary, key)):
            for number, words in enumerate(one.said):
                if words not in drugs and owners.setdefault(words, one.id) != one.id:
                    other = f"words for one allergen only, and {owners[words]} has these already"
                    yield Fault((key, at, "said", number), repr(words), other)


def _not_apart(formulary: Formulary) -> Iterator[Fault]:
    drugs = {drug.id: drug for drug in formulary.drugs}
    absent = {one.called for one in formulary.absent}
    for at, drug in enumerate(formulary.drugs):
        for number, other in enumerate(drug.sounds_like):
            loc = ("drugs", at, "sounds_like", number)
            if other == drug.id or other not in drugs.keys() | absent:
                yield Fault(loc, repr(other), "the id of another drug, or an absent one")
            elif other in drugs and drug.id not in drugs[other].sounds_like:
                allowed = f"each of two under the other, so {drug.id} under {other} too"
                yield Fault(loc, repr(other), allowed)


def _other_purposes(formulary: Formulary) -> Iterator[Fault]:
    """What is said to be for one thing and is listed under another use than most that say so."""
    uses: dict[str, Counter[Use]] = {}
    for _, _, one in formulary.placed_uses():
        uses.setdefault(one.purpose, Counter())[one.use] += 1
    for loc, _, one in formulary.placed_uses():
        (usual, _), *_ = uses[one.purpose].most_common(1)
        if one.use is not usual:
            allowed = f"words for {one.use.value}; elsewhere these stand for {usual.value}"
            yield Fault((*loc, "purpose"), repr(one.purpose), allowed)


def _names_twice(formulary: Formulary) -> Iterator[Fault]:
    ids: set[str] = set()
    owners: dict[str, str] = {}
    for at, drug in enumerate(formulary.drugs):
        if drug.id in ids:
            yield Fault(("drugs", at, "id"), repr(drug.id), "each drug's id once")
        ids.add(drug.id)
        named: list[tuple[tuple[int | str, ...], tuple[str, ...]]] = [
            (("called",), (drug.called,)),
            (("said",), drug.said),
            (("respellings",), drug.respellings),
        ]
        for number, one in enumerate(drug.indications):
            named += [
                (("indications", number, "said"), one.said),
                (("indications", number, "respellings"), one.respellings),
            ]
        for key, names in named:
            for name in names:
                if owners.setdefault(name, drug.id) != drug.id:
                    other = f"each name for one drug only, and {owners[name]} has it already"
                    yield Fault(("drugs", at, *key), repr(name), other)
    for number, absent in enumerate(formulary.absent):
        for name in (absent.called, *absent.respellings):
            if name in owners:
                only = "only drugs that are not on this formulary"
                yield Fault(("absent", number), repr(name), only)


def _out_of_proportion(drug: Drug, number: int, formulary: Formulary) -> Iterator[Fault]:
    """A step too coarse for the smallest dose; a maximum above all doses or below the usual."""
    indication, adults = drug.indications[number], formulary.adults
    dose, maximum = indication.dose, indication.maximum
    lightest_kg, heaviest_kg = adults.weight_kg.low, adults.weight_kg.high
    if dose.per_kilogram and not maximum.most.is_like(dose.usual):
        which = dose.high if maximum.limit.of_a_rate else dose.usual
        at_kg = heaviest_kg if maximum.limit.of_a_rate else lightest_kg
        least, most = which.at(at_kg), dose.high.at(heaviest_kg)
        if not least.quantity <= maximum.most.quantity <= most.quantity:
            name = "high rate" if maximum.limit.of_a_rate else "usual dose"
            allowed = (
                f"from the {name} at {at_kg} kg, {least}, to the high dose at {heaviest_kg} kg, "
                f"{most}"
            )
            if maximum.limit.of_a_rate:
                allowed = f"{dose.high} or above, as no infusion is cut below its high dose"
            yield Fault(
                ("indications", number, "maximum", maximum.limit.value),
                str(maximum.most),
                allowed,
            )
    if not dose.per_kilogram and maximum.most.quantity < dose.high.quantity:
        allowed = f"a maximum not below the high dose, {dose.high}"
        loc = ("indications", number, "maximum", maximum.limit.value)
        yield Fault(loc, str(maximum.most), allowed)
    preparation = drug.preparation(indication)
    smallest = _smallest(indication, adults)
    volume = volume_of(smallest, preparation.strength)
    coarsest_amount = coarsest_step(indication, preparation, adults)
    if step_of(preparation, volume, formulary.syringes) > coarsest_amount:
        coarsest = Figure(half_up(coarsest_amount, Decimal("0.0001")), preparation.step.unit)
        allowed = f"at most {coarsest}, as the smallest dose {indication.purpose} is {smallest}"
        which_one = drug.preparations.index(preparation)
        key = "graduation" if preparation.graduation is not None else "pump_step"
        yield Fault(("preparations", which_one, key), str(preparation.step), allowed)


def coarsest_step(use: Indication, preparation: Preparation, adults: Adults) -> Decimal:
    """The coarsest mark or step, in mL or mL/h, to which its smallest dose may be rounded."""
    return 2 * COARSEST_ROUNDING * volume_of(_smallest(use, adults), preparation.strength)


def _smallest(use: Indication, adults: Adults) -> Figure:
    low = min((one.low for one in doses_of(use)), key=lambda low: low.quantity)
    return low.at(adults.weight_kg.low)


def volume_of(given: Figure, strength: Figure) -> Decimal:
    """Millilitres that hold so much, or millilitres per hour for a rate."""
    rate = given.unit.endswith(("/h", "/min"))
    return amount_in(given.quantity / strength.quantity, "mL/h" if rate else "mL")
