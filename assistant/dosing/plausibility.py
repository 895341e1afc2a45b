"""A site's figures held against the program's own reference.

What lies outside is refused, unless the site states it under `confirmed` with two roles that stand
for it: then it is told at every start and on the drug card.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from assistant.dosing.drugs import Drug, Indication
from assistant.dosing.formulary import Adults, Formulary
from assistant.dosing.handling import unhandy
from assistant.dosing.sourced import Maximum
from assistant.dosing.stated import Figure, Range
from assistant.dosing.units import plain
from assistant.dosing.yardstick import KnownDrug, KnownUse, Yardstick, yardstick
from assistant.files.faults import Fault


class Outside(NamedTuple):
    """One thing that the reference does not bear out."""

    place: str
    """By ids: "ketamine/induction/dose/usual"."""
    loc: tuple[int | str, ...]
    found: str
    allowed: str


def outside(formulary: Formulary) -> Iterator[Outside]:
    """All of a formulary that lies outside the reference, confirmed or not."""
    known = yardstick()
    yield from _adults(formulary.adults, known)
    for at, drug in enumerate(formulary.drugs):
        of_drug = known.drug(drug.id)
        if of_drug is None:
            allowed = (
                f"a drug of the program's reference ({', '.join(one.drug for one in known.drugs)})"
            )
            yield Outside(drug.id, ("drugs", at, "id"), drug.id, allowed)
            continue
        for one in _drug(drug, of_drug, known, formulary):
            yield one._replace(loc=("drugs", at, *one.loc))


def implausible(formulary: Formulary) -> Iterator[Fault]:
    """What is outside and not confirmed, and confirmations of what is not outside."""
    found = list(outside(formulary))
    confirmed = {(one.place, one.found) for one in formulary.confirmed}
    for one in found:
        if (one.place, one.found) not in confirmed:
            allowed = f"{one.allowed}; or two roles under confirmed, place {one.place}"
            yield Fault(one.loc, one.found, allowed)
    for number, confirmation in enumerate(formulary.confirmed):
        if (confirmation.place, confirmation.found) not in {(o.place, o.found) for o in found}:
            yield Fault(
                ("confirmed", number),
                f"{confirmation.place}: {confirmation.found}",
                "only what the program's own reference does not bear out, as it stands above",
            )


def _adults(adults: Adults, known: Yardstick) -> Iterator[Outside]:
    for name in ("weight_kg", "height_cm", "age_years"):
        span, ends = getattr(adults, name), getattr(known.adults, name)
        if not ends.hold(Decimal(span.low), Decimal(span.high)):
            found = f"{span.low} to {span.high}"
            yield Outside(
                f"adults/{name}", ("adults", name), found, f"from {ends.low}, up to {ends.high}"
            )
    for name in ("obese_from_bmi", "ask_age_below_kg", "ask_height_from_kg"):
        figure, ends = Decimal(getattr(adults, name)), getattr(known.adults, name)
        if not ends.hold(figure, figure):
            yield Outside(f"adults/{name}", ("adults", name), plain(figure), ends.low)


def _drug(drug: Drug, known: KnownDrug, all_known: Yardstick, site: Formulary) -> Iterator[Outside]:
    for number, strength in enumerate(drug.supplied.strengths):
        if strength.quantity not in [one.quantity for one in known.strengths]:
            yield Outside(
                f"{drug.id}/supplied",
                ("supplied", "strengths", number),
                str(strength),
                f"a strength that is sold ({_listed(known.strengths)})",
            )
    for number, preparation in enumerate(drug.preparations):
        vial = preparation.vial
        if vial is not None and known.vials and vial not in known.vials:
            allowed = f"a vial that is sold ({_listed(known.vials)})"
            place = f"{drug.id}/{preparation.id}/vial"
            yield Outside(place, ("preparations", number, "vial"), str(vial), allowed)
    for name in ("cautions", "allergens"):
        least, stated = getattr(known, name), len(getattr(drug, name))
        if stated < least:
            yield Outside(f"{drug.id}/{name}", (name,), _count(stated), f"at least {least}")
    yield from _names(drug, all_known)
    yield from _classes(drug, all_known, site)
    here = {one.id for one in site.drugs}
    for other in known.sounds_like:
        if other in here and other not in drug.sounds_like:
            yield Outside(
                f"{drug.id}/sounds_like", ("id",), f"no {other}", f"{other} in sounds_like"
            )
    for number, use in enumerate(drug.indications):
        for one in _use(drug, use, known, all_known, site):
            loc = one.loc if one.loc[0] == "preparations" else ("indications", number, *one.loc)
            yield one._replace(place=f"{drug.id}/{use.id}{one.place}", loc=loc)


def _names(drug: Drug, known: Yardstick) -> Iterator[Outside]:
    """Names of another drug among its own: who asks for that would be told of this."""
    of_whom = known.named()
    told: list[tuple[tuple[int | str, ...], str]] = [(("called",), drug.called)]
    told += [(("said", at), name) for at, name in enumerate(drug.said)]
    for number, use in enumerate(drug.indications):
        told += [(("indications", number, "said", at), name) for at, name in enumerate(use.said)]
    for loc, name in told:
        for word in name.split():
            other = of_whom.get(word, drug.id)
            if other != drug.id:
                allowed = f"names of {drug.id}; in the program's reference {word} is {other}"
                yield Outside(f"{drug.id}/names", loc, name, allowed)


def _classes(drug: Drug, known: Yardstick, site: Formulary) -> Iterator[Outside]:
    """An allergen that names drugs of other classes, and none of this one's."""
    of_whom = known.named()
    groups = {one.id: one for one in site.allergens}
    for number, group in enumerate(drug.allergens):
        said = groups[group].said if group in groups else ()
        named = {of_whom[name] for name in said if name in of_whom}
        classes = {one for one in map(known.class_of, named) if one is not None}
        classes |= {one.name for one in known.classes if one.name in (group, *said)}
        if classes and drug.id not in named and known.class_of(drug.id) not in classes:
            allowed = f"an allergen of its own class; {group} names {', '.join(sorted(classes))}"
            yield Outside(f"{drug.id}/allergens", ("allergens", number), group, allowed)


def _use(
    drug: Drug, use: Indication, known: KnownDrug, all_known: Yardstick, site: Formulary
) -> Iterator[Outside]:
    rows = [one for one in known.uses if (one.use, one.route) == (use.use, use.route)]
    row = next((one for one in rows if one.is_of(use.dose)), None)
    if row is None:
        found = f"{use.dose.usual}, {use.use.value}, {use.route.value}"
        allowed = "; ".join(
            f"{one.range}, {one.use.value}, {one.route.value}" for one in known.uses
        )
        yield Outside("", ("dose",), found, allowed)
        return
    yield from _doses(use, row, all_known)
    yield from _separate(use, row)
    yield from _maximum(use.maximum, row, all_known, site.adults)
    if len(use.ask_before) < row.questions:
        found = _count(len(use.ask_before))
        yield Outside("/ask_before", ("ask_before",), found, f"at least {row.questions}")
    if len(use.said_with_dose) < row.minded:
        found = _count(len(use.said_with_dose))
        allowed = f"at least {row.minded}: what changes how it is given"
        yield Outside("/said_with_dose", ("said_with_dose",), found, allowed)
    for name in ("onset", "lasts"):
        ours, theirs = getattr(use.acts, name), getattr(row, name).widened(all_known.factor)
        if not (theirs.holds(ours.low) and theirs.holds(ours.high)):
            yield Outside(f"/acts/{name}", ("acts", name), str(ours), str(getattr(row, name)))
    preparation = drug.preparation(use)
    loc = ("preparations", drug.preparations.index(preparation))
    if preparation.strength.quantity not in [one.quantity for one in row.given_from]:
        allowed = f"a strength that it is given from ({_listed(row.given_from)})"
        yield Outside("/strength", (*loc, "strength"), str(preparation.strength), allowed)
    for place, key, found, allowed in unhandy(drug, use, site):
        yield Outside(place, key, found, allowed)


def _doses(use: Indication, row: KnownUse, known: Yardstick) -> Iterator[Outside]:
    for name, dose in (
        ("dose", use.dose),
        ("when_pressure_is_low", use.when_pressure_is_low),
        ("when_old", use.when_old),
    ):
        if dose is None:
            continue
        low = name == "when_pressure_is_low"
        ranges = row.ranges(low_pressure=low)
        published = dose.published.range
        for key, figure in (
            ("published", published.low),
            ("published", published.high),
            *zip(("low", "usual", "high"), dose.figures, strict=True),
        ):
            allowed = known.allowed(ranges, figure)
            if allowed is None or not allowed.holds(figure):
                theirs = ", ".join(map(str, ranges))
                loc = (name, key, "range") if key == "published" else (name, key)
                yield Outside(
                    f"/{name}/{key}", loc, str(figure), _of_reference(theirs, row, figure, ranges)
                )


def _of_reference(theirs: str, row: KnownUse, figure: Figure, ranges: tuple[Range, ...]) -> str:
    unit = ranges[0].low.unit
    opening = f"the unit {unit}, " if figure.unit != unit else ""
    return f"{opening}{theirs} in the program's reference ({row.source})"


def _separate(use: Indication, row: KnownUse) -> Iterator[Outside]:
    if row.low_pressure == "never" and use.never_when_pressure_is_low is None:
        allowed = "never_when_pressure_is_low, with the reason"
        yield Outside("/never_when_pressure_is_low", ("dose",), "nothing", allowed)
    elif (
        row.low_pressure is not None
        and use.when_pressure_is_low is None
        and use.never_when_pressure_is_low is None
    ):
        allowed = f"a dose for a low pressure, {row.low_pressure}"
        yield Outside("/when_pressure_is_low", ("dose",), "nothing", allowed)
    if row.old and use.when_old is None:
        allowed = "a dose for the old, when_old"
        yield Outside("/when_old", ("dose",), "nothing", allowed)
    elif row.frail and use.when_old is not None and not use.when_old.frail_too:
        allowed = "frail_too: true, as its source has it for the debilitated"
        yield Outside("/when_old/frail_too", ("when_old",), "a dose for the old only", allowed)


def _maximum(
    maximum: Maximum, row: KnownUse, known: Yardstick, adults: Adults
) -> Iterator[Outside]:
    limit, most = maximum.limit, maximum.most
    high = row.most or row.ranges()[0].high
    if row.most is None and most.weight is None:
        high = high.at(adults.weight_kg.high)
    elif row.most is None:
        like = [one.high for one in row.ranges() if one.high.is_like(most)]
        high = like[0] if like else high
    allowed = high.times(known.factor)
    if not allowed.is_like(most) or most.quantity > allowed.quantity:
        yield Outside(
            "/maximum", ("maximum", limit.value), str(most), f"at most {high} ({row.source})"
        )


def _listed(figures: tuple[Figure, ...]) -> str:
    return ", ".join(map(str, figures))


def _count(number: int) -> str:
    return "none" if number == 0 else str(number)
